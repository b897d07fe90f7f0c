from django.urls import path

from fleet.views import bundles

EXPORT = "<slug:site>/bundles/<uuid:pk>/"

urlpatterns = [
    path("<slug:site>/bundles/", bundles.BundleList.as_view(), name="bundle-list"),
    path("<slug:site>/bundles/new/", bundles.bundle_create, name="bundle-create"),
    path(EXPORT, bundles.bundle_detail, name="bundle-detail"),
    path(f"{EXPORT}file/", bundles.bundle_file, name="bundle-file"),
    path(f"{EXPORT}cancel/", bundles.bundle_cancel, name="bundle-cancel"),
]
