from django.urls import path

from fleet.views import mails

urlpatterns = [
    path("<slug:site>/mails/", mails.mails, name="mails"),
    path("<slug:site>/mails/again/", mails.mails_again, name="mails-again"),
]
