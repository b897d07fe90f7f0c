"""What a mechanic sends from a round's page: everything found good, but for what a test says."""

from datetime import timedelta

from django import forms
from django.urls import reverse

from fleet.actions.meters import fit_meter
from fleet.models import Cart
from lifts.actions import fit
from shared import clock
from shared.models import Role
from tests.alignment_factories import READY
from tests.factories import MORNING
from tests.lift_factories import a_cart, a_kit, a_site, with_role
from tests.wrench_factories import a_good_wrench

GOOD = {
    "found": ["firm", "greased", "no play"],
    "pin": ["undisturbed"],
    "strokes": ["3"],
    "bearing": ["sealed"],
    "condition": ["clear"],
    "is_pedal_low": ["no"],
    "time_1_s": ["20"],
    "time_2_s": ["20"],
    "length": ["400 ft"],
    "marked": ["40 ft"],
    "stop_1": ["20 ft"],
    "stop_2": ["20 ft"],
}
TYPED = {"strokes", "time_1_s", "time_2_s", "length", "marked", "stop_1", "stop_2"}
SHEET = {
    **READY,
    "between": "12",
    "diameter": "22",
    "mark": "1/32 in",
    "passes": "1",
    "p1_step": "found",
    "p1_left_top_1": "1/8",
    "p1_left_bottom_1": "1/8",
    "p1_right_top_1": "1/8",
    "p1_right_bottom_1": "1/8",
    **{f"p1_front_{n}": "35 7/8" for n in (1, 2, 3)},
    **{f"p1_rear_{n}": "36 1/16" for n in (1, 2, 3)},
}


class Shop:
    """A lifted cart on its stands and its mechanic, at a clock that a test sets."""

    def __init__(self, monkeypatch):
        self.at = MORNING
        monkeypatch.setattr(clock, "now", lambda: self.at)
        self.site, self.manager = a_site()
        self.kit = a_kit(self.site, self.manager)
        self.wrench = a_good_wrench(self.site, self.manager)
        self.cart = self.lifted("7")
        self.mechanic = with_role(self.site, self.manager, Role.MECHANIC)

    def lifted(self, number):
        cart = a_cart(self.site, self.manager, number, at=self.at, use_class="rental")
        who = {"by": self.manager, "at": self.at}
        fit_meter(cart, "hours", 412, unit="h", **who)
        fit_meter(cart, "distance", 1850, unit="mi", **who)
        fit(cart, self.kit, **who)
        return Cart.objects.get(pk=cart.pk)

    def url(self, name, *args, cart=None):
        return reverse(name, args=[self.site.slug, (cart or self.cart).pk, *args])

    def later(self, **span):
        self.at += timedelta(**span)

    def opened(self, client, by=None, cart=None, query=""):
        """Open the round's page and return it."""
        client.force_login(by or self.mechanic)
        return client.get(self.url("round-create", cart=cart) + query).context["page"]

    def sent(self, client, page, **changes):
        return client.post(self.url("round-create", cart=page.visit.cart), typed(page, **changes))

    def rounds(self, client, **changes):
        """Open, fill and send a page, and return the answer."""
        return self.sent(client, self.opened(client), **changes)


def typed(page, **changes):
    """Return a page's fields with good answers; ``None`` leaves a field out."""
    said = {"visit": page.visit.token, "cautions": "on"}
    for step in page.steps:
        if step.part.code == "camber-toe":
            said |= {f"camber-toe-{name}": text for name, text in SHEET.items()}
        else:
            said |= {field.html_name: answer for field in step.form if (answer := _good(field))}
    said |= changes
    return {name: text for name, text in said.items() if text is not None}


def _good(bound):
    name = bound.name.partition("-")[0]
    choices = [str(value) for value, _label in getattr(bound.field, "choices", ())]
    if name == "wrenches":
        return choices
    if name in GOOD and (choices or name in TYPED):
        fitting = [answer for answer in GOOD[name] if not choices or answer in choices]
        return fitting[0] if fitting else None
    is_yes_or_no = isinstance(bound.field, forms.TypedChoiceField)
    return "yes" if is_yes_or_no and name not in ("right", "moved") else None
