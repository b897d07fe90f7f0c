from django.urls import path

from lifts.views import fittings, kits, told

urlpatterns = [
    path("<slug:site>/kits/", kits.kit_list, name="kit-list"),
    path("<slug:site>/kits/new/", kits.kit_create, name="kit-create"),
    path("<slug:site>/kits/<uuid:pk>/", kits.kit_detail, name="kit-detail"),
    path("<slug:site>/kits/<uuid:pk>/sheet/", kits.kit_sheet, name="kit-sheet"),
    path("<slug:site>/kits/<uuid:pk>/replace/", kits.kit_replace, name="kit-replace"),
    path("<slug:site>/carts/<uuid:cart>/fit/", fittings.fitting_create, name="fitting-create"),
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
]
