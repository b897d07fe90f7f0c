from django.urls import path

from alignment.views import sheets, specs

urlpatterns = [
    path("<slug:site>/camber-toe/", specs.spec_list, name="alignment-spec-list"),
    path("<slug:site>/camber-toe/all-carts/", specs.spec_usual, name="alignment-spec-usual"),
    path(
        "<slug:site>/camber-toe/kits/<slug:code>/",
        specs.spec_change,
        name="alignment-spec-change",
    ),
    path("<slug:site>/camber-toe/measured/", sheets.measured, name="camber-toe-measured"),
    path(
        "<slug:site>/camber-toe/kits/<slug:code>/measured/",
        sheets.measured,
        name="camber-toe-kit",
    ),
    path("<slug:site>/carts/<uuid:cart>/camber-toe/", sheets.sheet_list, name="camber-toe-list"),
    path(
        "<slug:site>/carts/<uuid:cart>/camber-toe/<uuid:pk>/",
        sheets.sheet_detail,
        name="camber-toe-detail",
    ),
]
