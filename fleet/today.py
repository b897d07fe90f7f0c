"""Today's carts for the mechanics of a site: who is called for, gravest first. No writes."""

from dataclasses import dataclass, field

from django.urls import reverse

from fleet.board import STATE_WORDS
from fleet.clocks import content_of
from fleet.due import DUE, LATE, OPEN, STOPPED, state_on
from fleet.kinds import register
from fleet.models import Cart, Recheck
from fleet.reminding import AT_REST
from fleet.visits import Called, minutes_of

GRAVEST = (STOPPED, LATE, DUE, OPEN)


@dataclass
class CalledCart:
    """A cart with what may be done at it today; the gravest state rules."""

    cart: Cart
    called: list[Called] = field(default_factory=list)

    @property
    def state(self):
        states = {one.state for one in self.called}
        return next(state for state in GRAVEST if state in states)

    @property
    def rank(self):
        return GRAVEST.index(self.state)

    @property
    def state_word(self):
        return str(STATE_WORDS[self.state])

    @property
    def number(self):
        return self.cart.number

    @property
    def place(self):
        return " · ".join(words for words in (self.cart.area, self.cart.bay) if words)

    @property
    def work(self):
        """The due work by name; the open work only counted."""
        due = [str(one.kind.title) for one in self.called if one.is_due]
        return ", ".join(dict.fromkeys(due or [str(one.kind.title) for one in self.called]))

    @property
    def minutes(self):
        return minutes_of(self.called)

    def get_absolute_url(self):
        return reverse("round-create", args=[self.cart.site.slug, self.cart.pk])


def carts_called(viewer, site, *, with_open=False) -> list[CalledCart]:
    """Return the carts due today, gravest first, then by place and number; a query or two."""
    today = site.day(viewer.at)
    rows = Recheck.objects.visible_to(viewer).active().filter(site=site)
    rows = rows.filter(**{"opens_on__lte" if with_open else "due_on__lte": today})
    # by its cart's site too, else the carts of all sites are gone through
    rows = rows.filter(cart__site=site).exclude(cart__condition__in=AT_REST)
    contents = {code: kind.content for code, kind in register.kinds.items()}
    found = {}
    for recheck in rows.select_related("cart__site").order_by("due_on", "id"):
        entry = found.setdefault(recheck.cart_id, CalledCart(recheck.cart))
        content = content_of(contents, recheck.kind_code, recheck.subject)
        kind = register.kinds[recheck.kind_code]
        entry.called.append(Called(recheck, kind, content, state_on(recheck, today)))
    carts = [entry for entry in found.values() if any(one.state in GRAVEST for one in entry.called)]
    return sorted(carts, key=lambda entry: (entry.rank, entry.place, entry.number))
