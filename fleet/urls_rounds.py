"""Rounds, and the plates and sheets that lead to them."""

from django.urls import path

from fleet.views import photos, plates, round_acts, rounds

urlpatterns = [
    path("p/<str:token>/", plates.plate, name="plate"),
    path("<slug:site>/round/", rounds.RoundStart.as_view(), name="round-start"),
    path("<slug:site>/carts/<uuid:pk>/round/", rounds.round_create, name="round-create"),
    path("<slug:site>/carts/<uuid:pk>/sheet/", plates.round_sheet, name="round-sheet"),
    path(
        "<slug:site>/carts/<uuid:cart>/rounds/<uuid:pk>/",
        round_acts.round_detail,
        name="round-detail",
    ),
    path(
        "<slug:site>/carts/<uuid:cart>/rounds/<uuid:pk>/strike/",
        round_acts.round_strike,
        name="round-strike",
    ),
    path(
        "<slug:site>/carts/<uuid:cart>/rounds/<uuid:pk>/move/",
        round_acts.round_move,
        name="round-move",
    ),
    path(
        "<slug:site>/carts/<uuid:cart>/rounds/<uuid:pk>/countersign/",
        round_acts.round_countersign,
        name="round-countersign",
    ),
    path("<slug:site>/plates/", plates.plate_sheet, name="plate-sheet"),
    path("<slug:site>/photos/<uuid:pk>/", photos.photo, name="photo"),
]
