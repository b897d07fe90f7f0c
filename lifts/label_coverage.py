"""How the warning label of a lifted cart stands, by the last look at it."""

from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID

from django.db.models import Exists, Min, OuterRef, Subquery
from django.utils.translation import gettext_lazy as _

from fleet.models import Cart, Recheck
from lifts.models import LabelCheck
from shared.models import Photo

PHOTOS = {
    "seat_photo": Photo.Shows.LABEL_SEAT,
    "close_photo": Photo.Shows.LABEL_CLOSE,
}
# the longest between two looks by the default book; common practice, no source
COVERED_DAYS = 91
RECORDED, PHOTOS_MISSING, TOO_LONG_AGO, WANTING, NOT_RECORDED = (
    "recorded",
    "photos missing",
    "looked at too long ago",
    "wanting",
    "not recorded",
)
IN_FORCE = (RECORDED, PHOTOS_MISSING)
WORDS = {
    WANTING: _("wanting"),
    NOT_RECORDED: _("not recorded"),
    TOO_LONG_AGO: _("looked at too long ago"),
    PHOTOS_MISSING: _("photos missing"),
    RECORDED: _("recorded"),
}
LABEL_CHECK = "label-check"
# what a look's standing is told by
LOOKED = (
    "cart",
    "done_at",
    "condition",
    "in_place",
    "is_legible",
    "visible_from_seat",
    "replaced",
    "uncovered",
)


@dataclass(frozen=True)
class Standing:
    """A lifted cart with the last look at its label; ``due_on`` is when the next falls due."""

    cart_id: UUID
    number: str
    word: str
    condition: str = ""
    looked_at: datetime | None = None
    seat_photo: bool = False
    close_photo: bool = False
    due_on: date | None = None

    @property
    def is_in_force(self):
        """Whether a label that can be read from the seat was seen there lately."""
        return self.word in IN_FORCE

    @property
    def is_recorded(self):
        """Whether its two photos were taken then as well, as the bundle counts labels."""
        return self.word == RECORDED


def word_of(is_good, days, shots):
    """Return how a label stands: ``days`` since the look, ``shots`` of the two photos."""
    if not is_good:
        return WANTING
    if days > COVERED_DAYS:
        return TOO_LONG_AGO
    return RECORDED if shots == len(PHOTOS) else PHOTOS_MISSING


def standings(site, viewer) -> list[Standing]:
    """Return how the label of each lifted cart of a site stands, with three queries."""
    carts = Cart.objects.visible_to(viewer).in_fleet().lifted().filter(site=site)
    looks = _last_looks(carts, site)
    due = _due(site, viewer)
    today = site.day(viewer.at)
    return [
        _standing(cart, looks.get(cart.pk), due.get(cart.pk), site, today)
        for cart in carts.only("number").order_by("number", "pk")
    ]


def counts(site, viewer) -> dict[str, int]:
    """Return of how many lifted carts the label was seen, in force, and with its photos."""
    carts = Cart.objects.visible_to(viewer).in_fleet().lifted().filter(site=site)
    today = site.day(viewer.at)
    found = [
        Standing("", "", _word(look, site, today)) for look in _last_looks(carts, site).values()
    ]
    return {
        "all": carts.count(),
        "in_force": sum(one.is_in_force for one in found),
        "recorded": sum(one.is_recorded for one in found),
    }


def _word(look, site, today):
    days = (today - site.day(look.done_at)).days
    return word_of(look.is_good, days, look.seat_photo + look.close_photo)


def _last_looks(carts, site):
    of_cart = LabelCheck.objects.filter(cart=OuterRef("pk"), site=site).standing()
    last = carts.annotate(look=Subquery(of_cart.order_by("-done_at", "-pk").values("pk")[:1]))
    photos = Photo.objects.standing().filter(about=OuterRef("pk"))
    shot = {name: Exists(photos.filter(shows=shows)) for name, shows in PHOTOS.items()}
    # by site, else all looks of all sites are gone through for them
    looks = LabelCheck.objects.filter(site=site, pk__in=last.values("look"))
    looks = looks.annotate(**shot).only(*LOOKED)
    return {look.cart_id: look for look in looks}


def _due(site, viewer):
    due = Recheck.objects.visible_to(viewer).active().filter(site=site, kind_code=LABEL_CHECK)
    return dict(
        due.order_by().values("cart").annotate(first=Min("due_on")).values_list("cart", "first")
    )


def _standing(cart, look, due_on, site, today):
    if look is None:
        return Standing(cart.pk, cart.number, NOT_RECORDED, due_on=due_on)
    return Standing(
        cart.pk,
        cart.number,
        _word(look, site, today),
        look.get_condition_display() if look.condition else "",
        look.done_at,
        look.seat_photo,
        look.close_photo,
        due_on,
    )
