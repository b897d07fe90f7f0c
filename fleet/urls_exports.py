from django.urls import path

from fleet.views import exports

EXPORT = "<slug:site>/exports/<uuid:pk>/"

urlpatterns = [
    path("<slug:site>/exports/", exports.ExportList.as_view(), name="export-list"),
    path("<slug:site>/exports/new/", exports.export_create, name="export-create"),
    path(EXPORT, exports.export_detail, name="export-detail"),
    path(f"{EXPORT}file/", exports.export_file, name="export-file"),
    path(f"{EXPORT}cancel/", exports.export_cancel, name="export-cancel"),
]
