"""The bundle's tables of lifts: each chapter of a cart's life, and each look at a label."""

from django.utils.translation import gettext_lazy as _

from fleet.bundle.cells import arrival, done_at, who_and_when
from fleet.bundle.columns import (
    ARRIVAL,
    CART,
    MOMENT,
    WHO_AND_WHEN,
    YES_NO,
    Column,
    Table,
    number,
)
from lifts.models import Fitting, LabelCheck, Removal
from shared.models import Photo

PHOTOS = {
    "seat_photo": Photo.Shows.LABEL_SEAT,
    "close_photo": Photo.Shows.LABEL_CLOSE,
}
OF_FITTING = (
    "rise_front_mm",
    "rise_rear_mm",
    "fitted_by",
    "firm",
    "paperwork",
    "tyre_before",
    "tyre_after",
    "u_bolt_batch",
    "note",
)
OF_LABEL = (
    "position",
    "in_place",
    "is_legible",
    "visible_from_seat",
    "covered_by",
    "replaced",
)


def chapter_rows(batch):
    spans = {span.fitting_id: span for cart in batch.carts for span in cart.facts.chapters}
    fittings = Fitting.objects.select_related("kit").in_bulk(list(spans))
    ends = [span.ended_by for span in spans.values() if span.ended_by]
    removals = Removal.objects.in_bulk(ends)
    later = Fitting.objects.in_bulk(ends)
    for cart in batch.carts:
        for fitting in cart.own([fittings[span.fitting_id] for span in cart.facts.chapters]):
            ended_by = spans[fitting.pk].ended_by
            removal = removals.get(ended_by)
            end = removal or later.get(ended_by)
            yield {
                **cart.named(fitting.done_at),
                **who_and_when(fitting, batch.scope),
                **arrival(fitting, batch.scope),
                **_fitting(fitting),
                "until_at": done_at(end, batch.scope.zone) if end else "",
                "ended_by": ended_by,
                "ended_how": _how(end),
                "why_removed": removal.reason if removal else "",
            }


def _how(end):
    if end is None:
        return ""
    return "removed" if isinstance(end, Removal) else "another lift was fitted"


def _fitting(fitting):
    kit = fitting.kit
    return {
        "chapter": fitting.pk,
        "kit": kit.name,
        "kit_code": kit.code,
        "edition": kit.edition,
        "front": kit.front,
        "rear": kit.rear,
        **{name: getattr(fitting, name) for name in OF_FITTING},
    }


def label_rows(batch):
    seen = [
        (cart, row, fact)
        for cart in batch.carts
        for row in cart.own(cart.facts.rounds)
        for fact, _outcome in cart.facts.parts.get(row.pk, ())
        if isinstance(fact, LabelCheck)
    ]
    photos = _photos(batch.scope, [fact.pk for _cart, _row, fact in seen])
    for cart, row, fact in seen:
        yield {
            **cart.named(row.done_at),
            **who_and_when(fact, batch.scope),
            "round": row.pk,
            **{name: getattr(fact, name) for name in OF_LABEL},
            **{name: photos.get((fact.pk, shows)) for name, shows in PHOTOS.items()},
        }


def _photos(scope, checks):
    """Return {(label check, what it shows): fingerprint of the original}."""
    photos = scope.standing(Photo).filter(about__in=checks)
    return {(photo.about, photo.shows): photo.original_sha256 for photo in photos}


CHAPTERS = Table(
    "lift_chapters.csv",
    _("each lift that was on a cart, from its fitting on"),
    (
        *CART,
        Column("chapter", _("the fitting")),
        *WHO_AND_WHEN,
        Column("kit", _("the lift")),
        Column("kit_code", _("its short name in rules")),
        Column("edition", _("edition of the maker's instructions")),
        Column("front", _("kind of lift in front")),
        Column("rear", _("kind of lift in the rear")),
        number("rise_front_mm", _("measured rise in front"), "mm"),
        number("rise_rear_mm", _("measured rise in the rear"), "mm"),
        Column("fitted_by", _("who fitted it")),
        Column("firm", _("firm that fitted it")),
        Column("paperwork", _("papers of the fitting: full, partial or none")),
        Column("tyre_before", _("tyres before")),
        Column("tyre_after", _("tyres after")),
        Column("u_bolt_batch", _("batch of the U-bolts")),
        Column("note", _("note")),
        Column("until_at", _("off the cart; empty: on it as of the day"), MOMENT),
        Column("ended_by", _("entry that ended it")),
        Column("ended_how", _("removed, or another lift was fitted")),
        Column("why_removed", _("why it was taken off")),
        *ARRIVAL,
    ),
    chapter_rows,
)
LABELS = Table(
    "labels.csv",
    _("each look at the modification warning label"),
    (
        *CART,
        Column("round", _("the round; see rounds.csv")),
        *WHO_AND_WHEN,
        Column("position", _("where it is")),
        Column("in_place", _("in place"), YES_NO),
        Column("is_legible", _("legible"), YES_NO),
        Column("visible_from_seat", _("visible from the driver's seat"), YES_NO),
        Column("covered_by", _("what covers it")),
        Column("replaced", _("a new label was fitted"), YES_NO),
        Column("seat_photo", _("photo from the seat: SHA-256 of the file as it came in")),
        Column("close_photo", _("photo close up: SHA-256 of the file as it came in")),
    ),
    label_rows,
)
