from django.urls import path

from fleet.views import imports

RUN = "<slug:site>/import/<uuid:pk>/"

urlpatterns = [
    path("<slug:site>/import/", imports.import_list, name="import"),
    path("<slug:site>/import/sample/<slug:sheet>.csv", imports.import_sample, name="import-sample"),
    path(RUN, imports.import_run, name="import-run"),
    path(f"{RUN}confirm/", imports.import_confirm, name="import-confirm"),
    path(f"{RUN}drop/", imports.import_drop, name="import-drop"),
]
