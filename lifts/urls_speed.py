from django.urls import path

from lifts.views import speed_classes as classes
from lifts.views import stability

urlpatterns = [
    path("<slug:site>/speed-classes/", classes.speed_class_list, name="speed-class-list"),
    path("<slug:site>/speed-classes/new/", classes.speed_class_create, name="speed-class-create"),
    path("<slug:site>/speed-classes/usual/", classes.speed_class_usual, name="speed-class-usual"),
    path(
        "<slug:site>/speed-classes/class/<slug:code>/",
        classes.speed_class_change,
        name="speed-class-change",
    ),
    path(
        "<slug:site>/carts/<uuid:cart>/speed-class/",
        classes.speed_class_claim,
        name="speed-class-claim",
    ),
    path(
        "<slug:site>/carts/<uuid:cart>/stability/",
        stability.stability_detail,
        name="stability-detail",
    ),
    path(
        "<slug:site>/carts/<uuid:cart>/stability/new/",
        stability.stability_create,
        name="stability-create",
    ),
    path(
        "<slug:site>/carts/<uuid:cart>/stability/<uuid:pk>/correct/",
        stability.stability_correct,
        name="stability-correct",
    ),
]
