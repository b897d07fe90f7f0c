"""The addresses that mails link to."""

from django.http import HttpResponse
from django.urls import path


def answer(request, **kwargs):
    return HttpResponse("")


urlpatterns = [
    path("<slug>/", answer, name="site-home"),
    path("<slug>/carts/<uuid>/", answer, name="cart-detail"),
]
