"""A site whose carts bear a kit and have camber and toe sheets, and who looks at its pages."""

from datetime import timedelta

from django.urls import reverse

from lifts.actions import fit
from tests.alignment_sheets import a_round, a_sheet
from tests.factories import MORNING
from tests.lift_factories import a_cart, a_kit, a_site


class Yard:
    """A site with a manager who looks, and carts that bear a kit."""

    def __init__(self, client):
        self.site, self.manager = a_site(units="inch")
        self.client = client
        client.force_login(self.manager)
        self.kit = a_kit(self.site, self.manager, code="hx-4")

    def cart(self, number="7", *, lifted=True, **values):
        cart = a_cart(self.site, self.manager, number=number, **values)
        if lifted:
            fit(cart, self.kit, by=self.manager, at=MORNING)
        cart.refresh_from_db()
        return cart

    def sheet(self, cart, *lines, days=20, **values):
        row = a_round(cart, self.manager, MORNING + timedelta(days=days))
        return a_sheet(row, *lines, **values)

    def page(self, name, *args):
        answer = self.client.get(reverse(name, args=[self.site.slug, *args]))
        assert answer.status_code == 200
        return answer.content.decode()

    def of_sheet(self, fact):
        return self.page("camber-toe-detail", fact.cart_id, fact.pk)
