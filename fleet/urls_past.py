from django.urls import path

from fleet.views import past

urlpatterns = [
    path("<slug:site>/past/board/", past.past_board, name="past-board"),
    path("<slug:site>/past/desk/", past.past_desk, name="past-desk"),
    path("<slug:site>/past/carts/<uuid:pk>/", past.past_cart, name="past-cart"),
]
