from django.urls import path

from fleet.views.sample import sample

urlpatterns = [path("<slug:site>/sample/", sample, name="sample")]
