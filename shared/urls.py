from django.contrib.auth import views as auth_views
from django.urls import path

urlpatterns = [
    path("sign-in/", auth_views.LoginView.as_view(), name="sign-in"),
    path("sign-out/", auth_views.LogoutView.as_view(), name="sign-out"),
]
