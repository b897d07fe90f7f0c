from django.contrib.auth.views import LogoutView
from django.urls import path

from shared import views

urlpatterns = [
    path("", views.home, name="home"),
    path("sign-in/", views.SignIn.as_view(), name="sign-in"),
    path("sign-out/", LogoutView.as_view(), name="sign-out"),
    path("s/", views.SurveyorCode.as_view(), name="surveyor-code"),
    path("s/<str:token>/", views.surveyor_link, name="surveyor-link"),
    path("account/", views.account, name="account"),
    path("account/password/", views.PasswordChange.as_view(), name="password-change"),
    path("password/", views.PasswordReset.as_view(), name="password-reset"),
    path("password/sent/", views.PasswordSent.as_view(), name="password-sent"),
    path("password/<uidb64>/<token>/", views.PasswordSet.as_view(), name="password-set"),
]
