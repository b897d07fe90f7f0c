from django.urls import path

from fleet.cart_acts import ACTS
from fleet.views import board, cart_acts, carts, desk, joining

CART = "<slug:site>/carts/<uuid:pk>/"

urlpatterns = [
    path("<slug:site>/board/", board.board, name="board"),
    path("<slug:site>/board/sheet/", board.board_sheet, name="board-sheet"),
    path("<slug:site>/carts/", carts.CartList.as_view(), name="cart-list"),
    path("<slug:site>/carts/new/", joining.cart_create, name="cart-create"),
    path(CART, carts.cart_detail, name="cart-detail"),
    path(f"{CART}reading/", cart_acts.reading_create, name="reading-create"),
    path(f"{CART}entries/<uuid:entry>/strike/", cart_acts.entry_strike, name="entry-strike"),
    *[path(f"{CART}{act.name}/", cart_acts.VIEWS[act.name], name=act.url_name) for act in ACTS],
    path("<slug:site>/desk/", desk.desk, name="desk"),
    path("<slug:site>/desk/sheet/", desk.desk_sheet, name="desk-sheet"),
    path("<slug:site>/desk/<uuid:pk>/", desk.desk_cart, name="desk-cart"),
    path("<slug:site>/desk/<uuid:pk>/report/", desk.report_create, name="report-create"),
]
