from django.urls import path

from alignment.views import specs

urlpatterns = [
    path("<slug:site>/camber-toe/", specs.spec_list, name="alignment-spec-list"),
    path("<slug:site>/camber-toe/all-carts/", specs.spec_usual, name="alignment-spec-usual"),
    path(
        "<slug:site>/camber-toe/kits/<slug:code>/",
        specs.spec_change,
        name="alignment-spec-change",
    ),
]
