from django.urls import path

from fleet.views import service

urlpatterns = [
    path("health/", service.health, name="health"),
    path("metrics/", service.scrape, name="metrics"),
    path("<slug:site>/service/", service.service, name="service"),
]
