from django.urls import path

from lifts.views import joints

OF_CART = "<slug:site>/carts/<uuid:cart>/"

urlpatterns = [
    path(f"{OF_CART}joint-map/", joints.cart_map, name="joint-map"),
    path("<slug:site>/kits/<uuid:pk>/joint-map/", joints.kit_map, name="kit-joint-map"),
    path("<slug:site>/joints-seen/", joints.seen_list, name="joint-seen-list"),
    path(f"{OF_CART}joints-seen/new/", joints.seen_create, name="joint-seen-create"),
    path(f"{OF_CART}joints-seen/<uuid:pk>/take-up/", joints.take_up, name="joint-take-up"),
    path(f"{OF_CART}joints-seen/<uuid:pk>/decline/", joints.decline, name="joint-decline"),
    path(f"{OF_CART}joints/<uuid:pk>/end/", joints.end, name="joint-end"),
]
