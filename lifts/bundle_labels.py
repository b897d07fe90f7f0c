"""The bundle's tables of warning labels: each look at one, and how each lifted cart stands."""

from django.utils.translation import gettext_lazy as _

from fleet.bundle.cells import done_at
from fleet.bundle.columns import CART, MOMENT, YES_NO, Column, Table, number
from fleet.bundle.exception_tables import is_in_fleet
from fleet.bundle.figure import Figure
from fleet.bundle.shapes import fact_table, said
from lifts.label_coverage import NOT_RECORDED, PHOTOS, RECORDED, word_of
from lifts.label_letters import letters_said
from lifts.models import LabelCheck
from shared.models import Photo


def told_labels(batch):
    seen = [
        (cart, fact) for cart in batch.carts for fact in _checks(cart, cart.own(cart.facts.rounds))
    ]
    photos = _photos(batch.scope, [fact.pk for _cart, fact in seen])
    for cart, fact in seen:
        shots = {name: photos.get((fact.pk, shows)) for name, shows in PHOTOS.items()}
        yield cart, fact, {**shots, **_letters(fact)}


def _letters(fact):
    said = list(letters_said(fact))
    return {
        "letters": "; ".join(f"{what}: {verdict}" for what, verdict, _why in said),
        "letters_why": "; ".join(f"{what}: {why}" for what, _verdict, why in said),
    }


def _checks(cart, rounds):
    """Return the looks at the cart's label in its rounds, by time."""
    return [
        fact
        for row in rounds
        for fact, _outcome in cart.facts.parts.get(row.pk, ())
        if isinstance(fact, LabelCheck)
    ]


def _photos(scope, checks):
    """Return {(label check, what it shows): the copy's SHA-256, its name in the bundle}."""
    photos = scope.standing(Photo).filter(about__in=checks) if checks else ()
    return {(photo.about, photo.shows): photo.copy_sha256 for photo in photos}


LABELS = fact_table(
    "labels.csv",
    _("each look at the modification warning label"),
    said("label_check", _("the look at the label"), field="id"),
    (
        said("round", _("the round; see rounds.csv")),
        said("position", _("where it is")),
        said("in_place", _("in place"), YES_NO),
        said("is_legible", _("legible"), YES_NO),
        said("visible_from_seat", _("visible from the driver's seat"), YES_NO),
        said("covered_by", _("what covers it")),
        said("replaced", _("a new label was fitted"), YES_NO),
        said("condition", _("clear, worn, unreadable, covered or gone; empty: not asked then")),
        said("uncovered", _("what covered it was taken off"), YES_NO),
        said("batch", _("batch of the label")),
        said("letters_typed", _("height of its capitals as typed")),
        said("letters_mm", _("height of its capitals"), "mm", numeric=True),
        said("signal_word_typed", _("height of its signal word as typed")),
        said("signal_word_mm", _("height of its signal word"), "mm", numeric=True),
        said("seat_typed", _("distance from the driver's eye as typed")),
        said("seat_mm", _("distance from the driver's eye"), "mm", numeric=True),
        Column("letters", _("computed: each height, inside or outside what is asked")),
        Column("letters_why", _("computed: what is asked of each height, and by which source")),
        said("number_in_picture", _("the cart's number is in the photo from the seat"), YES_NO),
        Column("seat_photo", _("photo from the seat: SHA-256 that names it in photos/")),
        Column("close_photo", _("photo close up: SHA-256 that names it in photos/")),
    ),
    told_labels,
)


def coverage_rows(batch):
    """Yield how the label of each lifted cart in the fleet stands by its last look."""
    lifted = [cart for cart in batch.carts if is_in_fleet(cart) and cart.row.is_lifted]
    # as it stands on the day: a look of before the period counts
    looks = {cart.id: _checks(cart, cart.of_site(cart.facts.rounds)) for cart in lifted}
    last = {cart_id: checks[-1] for cart_id, checks in looks.items() if checks}
    photos = _photos(batch.scope, [fact.pk for fact in last.values()])
    for cart in lifted:
        yield {**cart.named(), **_standing(last.get(cart.id), photos, batch.scope)}


def _standing(fact, photos, scope):
    if fact is None:
        return dict.fromkeys(OF_COVERAGE, "") | {"standing": NOT_RECORDED}
    days = (scope.day - scope.day_of(fact.done_at)).days
    shots = sum((fact.pk, shows) in photos for shows in PHOTOS.values())
    return {
        "standing": word_of(fact.is_good, days, shots),
        "looked_at": done_at(fact, scope.zone),
        "label_check": fact.pk,
        "days_ago": days,
        "photos": shots,
    }


OF_COVERAGE = ("looked_at", "label_check", "days_ago", "photos")
LABEL_COVERAGE = Table(
    "label_coverage.csv",
    _("how the warning label of each lifted cart stands, by the last look at it"),
    (
        *CART,
        Column(
            "standing",
            _(
                "recorded: in place, legible and in sight, or replaced, in the last 91 days, with "
                "both photos; photos missing; looked at too long ago; wanting; not recorded"
            ),
        ),
        Column("looked_at", _("the last look; empty: none"), MOMENT),
        Column("label_check", _("that look; see labels.csv")),
        number("days_ago", _("days since then"), "d"),
        number("photos", _("photos of that look, of two")),
    ),
    lambda batch: batch.once(coverage_rows),
    key=("cart_id",),
)


class CoverageCount:
    """Counts the lifted carts whose label is recorded, and all of them."""

    def __init__(self, scope):
        self.recorded = self.carts = 0

    def take(self, batch):
        for row in batch.once(coverage_rows):
            self.carts += 1
            self.recorded += row["standing"] == RECORDED

    def figures(self, lines):
        for code, title, value, definition in (
            ("labels_recorded", _("lifted carts with their label recorded"), self.recorded, GOOD),
            ("labels_asked", _("lifted carts that need a label"), self.carts, ALL_LIFTED),
        ):
            yield Figure(code, title, value, _("carts"), definition, LABEL_COVERAGE.name)


GOOD = _(
    "last look within 91 days, in place, legible and visible from the seat or replaced, with "
    "the photo from the seat and the one close up"
)
ALL_LIFTED = _("lifted carts in the fleet as of the day")
