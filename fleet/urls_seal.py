from django.urls import path

from fleet.views import seal

urlpatterns = [
    path("<slug:site>/seal/", seal.Seal.as_view(), name="seal"),
    path("<slug:site>/seal/<int:pk>/", seal.checkpoint_file, name="checkpoint-file"),
    path("<slug:site>/seal/restore/", seal.restore_create, name="restore-create"),
]
