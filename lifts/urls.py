from django.urls import path

from lifts import urls_joints, urls_speed
from lifts.views import fittings, found_out, kits, labels, sisters, told, wrenches

urlpatterns = [
    *urls_joints.urlpatterns,
    *urls_speed.urlpatterns,
    path("<slug:site>/kits/", kits.kit_list, name="kit-list"),
    path("<slug:site>/kits/new/", kits.kit_create, name="kit-create"),
    path("<slug:site>/kits/<uuid:pk>/", kits.kit_detail, name="kit-detail"),
    path("<slug:site>/kits/<uuid:pk>/sheet/", kits.kit_sheet, name="kit-sheet"),
    path("<slug:site>/kits/<uuid:pk>/replace/", kits.kit_replace, name="kit-replace"),
    path("<slug:site>/carts/<uuid:cart>/fit/", fittings.fitting_create, name="fitting-create"),
    path(
        "<slug:site>/carts/<uuid:cart>/fittings/<uuid:pk>/correct/",
        fittings.fitting_correct,
        name="fitting-correct",
    ),
    path(
        "<slug:site>/carts/<uuid:cart>/fittings/compare/",
        fittings.fitting_compare,
        name="fitting-compare",
    ),
    path(
        "<slug:site>/carts/<uuid:cart>/fittings/<uuid:pk>/remove/",
        fittings.fitting_remove,
        name="fitting-remove",
    ),
    path(
        "<slug:site>/carts/<uuid:cart>/wheel-off/",
        fittings.wheel_off_create,
        name="wheel-off-create",
    ),
    path("<slug:site>/carts/<uuid:cart>/told/", told.told_count, name="told-count"),
    path(
        "<slug:site>/carts/<uuid:cart>/told/<uuid:pk>/strike/",
        told.told_strike,
        name="told-strike",
    ),
    path("<slug:site>/carts/<uuid:cart>/sisters/", sisters.sister_list, name="sister-list"),
    path(
        "<slug:site>/carts/<uuid:cart>/sisters/order/",
        sisters.sister_order,
        name="sister-order",
    ),
    path("<slug:site>/labels/", labels.label_list, name="label-list"),
    path("<slug:site>/kits/<uuid:pk>/label/", labels.label_card, name="label-card"),
    path("<slug:site>/wrenches/", wrenches.wrench_list, name="wrench-list"),
    path("<slug:site>/wrenches/new/", wrenches.wrench_create, name="wrench-create"),
    path("<slug:site>/wrenches/<uuid:pk>/", wrenches.wrench_detail, name="wrench-detail"),
    path("<slug:site>/wrenches/<uuid:pk>/change/", wrenches.wrench_change, name="wrench-change"),
    path(
        "<slug:site>/wrenches/<uuid:pk>/certificate/",
        wrenches.wrench_certificate,
        name="wrench-certificate",
    ),
    path("<slug:site>/wrenches/<uuid:pk>/check/", wrenches.wrench_check, name="wrench-check"),
    path("<slug:site>/wrenches/<uuid:pk>/hurt/", wrenches.wrench_hurt, name="wrench-hurt"),
    path(
        "<slug:site>/wrenches/<uuid:pk>/withdraw/",
        wrenches.wrench_withdraw,
        name="wrench-withdraw",
    ),
    path("<slug:site>/wrenches/<uuid:pk>/card/", wrenches.wrench_card, name="wrench-card"),
    path(
        "<slug:site>/wrenches/<uuid:pk>/found-out/<uuid:finding>/",
        found_out.found_out,
        name="found-out",
    ),
    path(
        "<slug:site>/wrenches/<uuid:pk>/found-out/<uuid:finding>/order/",
        found_out.found_out_order,
        name="found-out-order",
    ),
    path(
        "<slug:site>/wrenches/<uuid:pk>/entries/<uuid:entry>/strike/",
        wrenches.wrench_strike,
        name="wrench-strike",
    ),
    path(
        "<slug:site>/wrenches/<uuid:pk>/entries/<uuid:entry>/file/",
        wrenches.wrench_file,
        name="wrench-file",
    ),
]
