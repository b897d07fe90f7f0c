"""The addresses that the base page links to."""

from django.http import HttpResponse
from django.urls import path


def answer(request, **kwargs):
    return HttpResponse("")


urlpatterns = [
    path("account/", answer, name="account"),
    path("sign-out/", answer, name="sign-out"),
    path("<slug>/", answer, name="site-home"),
]
