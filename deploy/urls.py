"""Every address of the tool; each app names its own below the root."""

from django.urls import include, path

urlpatterns = [
    path("", include("shared.urls")),
    path("", include("fleet.urls")),
    path("", include("lifts.urls")),
    path("", include("alignment.urls")),
]

handler500 = "shared.away.broken"
