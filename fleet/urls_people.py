from django.urls import path

from shared.views import site_home

# last in every list of addresses of one word: it takes any
urlpatterns = [
    path("<slug:site>/", site_home, name="site-home"),
]
