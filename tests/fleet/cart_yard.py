"""A site with a lifted cart read three times: what tests of the cart's page stand on."""

from datetime import timedelta
from decimal import Decimal

from django.urls import reverse

from fleet.actions import meters
from fleet.models import Cart
from lifts.actions import fit
from shared.models import new_id
from tests.factories import MORNING
from tests.lift_factories import a_cart, a_kit, a_site

NOW = MORNING + timedelta(days=40)


class Yard:
    """A site with a lifted cart read three times, its manager signed in."""

    def __init__(self, client):
        self.client = client
        self.site, self.manager = a_site()
        self.cart = a_cart(self.site, self.manager, bay="B1", use_class="rental")
        who = {"by": self.manager, "at": MORNING}
        meters.fit_meter(self.cart, "hours", Decimal("412.0"), unit="h", rolls_at=10_000, **who)
        meters.fit_meter(self.cart, "distance", Decimal("1850.0"), unit="mi", **who)
        fit(self.cart, a_kit(self.site, self.manager), by=self.manager, at=MORNING)
        for days, hours in ((14, "430.5"), (28, "446.0")):
            at = MORNING + timedelta(days=days)
            meters.add_reading(self.cart, hours=Decimal(hours), by=self.manager, at=at)
        client.force_login(self.manager)

    def url(self, name="cart-detail", cart=None):
        return reverse(name, args=[self.site.slug, (cart or self.cart).pk])

    def page(self, **asked):
        return self.client.get(self.url(), asked)

    def act(self, name, **typed):
        return self.client.post(self.url(name), {"act": str(new_id()), **typed})

    def now(self):
        return Cart.objects.get(pk=self.cart.pk)
