from django.urls import path

from fleet.views import bundles

BUNDLE = "<slug:site>/bundles/<uuid:pk>/"

urlpatterns = [
    path("<slug:site>/bundles/", bundles.BundleList.as_view(), name="bundle-list"),
    path("<slug:site>/bundles/new/", bundles.bundle_create, name="bundle-create"),
    path("<slug:site>/bundles/check.<slug:suffix>", bundles.bundle_check, name="bundle-check"),
    path(BUNDLE, bundles.bundle_detail, name="bundle-detail"),
    path(f"{BUNDLE}file/", bundles.bundle_file, name="bundle-file"),
    path(f"{BUNDLE}cancel/", bundles.bundle_cancel, name="bundle-cancel"),
]
