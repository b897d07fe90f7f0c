"""The bundle's tables of lifts: each chapter of a cart's life, and each wheel taken off."""

from django.utils.translation import gettext_lazy as _

from fleet.bundle.cells import done_at
from fleet.bundle.columns import MOMENT, YES_NO, Column
from fleet.bundle.shapes import fact_table, said
from lifts.models import Fitting, Removal, WheelOff


def told_chapters(batch):
    spans = {span.fitting_id: span for cart in batch.carts for span in cart.facts.chapters}
    fittings = Fitting.objects.select_related("kit").in_bulk(list(spans))
    ends = [span.ended_by for span in spans.values() if span.ended_by]
    ended_by = {**Removal.objects.in_bulk(ends), **Fitting.objects.in_bulk(ends)}
    for cart in batch.carts:
        for fitting in cart.own([fittings[span.fitting_id] for span in cart.facts.chapters]):
            end = ended_by.get(spans[fitting.pk].ended_by)
            by = {"fitted_by": batch.scope.typed(fitting.fitted_by)}
            yield cart, fitting, {**_kit(fitting.kit), **by, **_ended(end, batch.scope)}


def _kit(kit):
    return {
        "kit": kit.name,
        "kit_code": kit.code,
        "edition": kit.edition,
        "front": kit.front,
        "rear": kit.rear,
    }


def _ended(end, scope):
    return {
        "until_at": done_at(end, scope.zone) if end else "",
        "ended_by": end and end.pk,
        "ended_how": _how(end),
        "why_removed": end.reason if isinstance(end, Removal) else "",
    }


def _how(end):
    if end is None:
        return ""
    return "removed" if isinstance(end, Removal) else "another lift was fitted"


CHAPTERS = fact_table(
    "lift_chapters.csv",
    _("each lift that was on a cart, from its fitting on"),
    said("chapter", _("the fitting"), field="id"),
    (
        Column("kit", _("the lift")),
        Column("kit_code", _("its short name in rules")),
        Column("edition", _("edition of the maker's instructions; see kits.csv")),
        Column("front", _("kind of lift in front")),
        Column("rear", _("kind of lift in the rear")),
        said("rise_front_mm", _("measured rise in front"), "mm", numeric=True),
        said("rise_rear_mm", _("measured rise in the rear"), "mm", numeric=True),
        # not what the entry says, where it stands for a person
        Column("fitted_by", _("who fitted it, as typed; of a person here the reference")),
        said("firm", _("firm that fitted it")),
        said("paperwork", _("papers of the fitting: full, partial or none")),
        said("tyre_before", _("tyres before")),
        said("tyre_after", _("tyres after")),
        said("u_bolt_batch", _("batch of the U-bolts")),
        said("note", _("note")),
        Column("until_at", _("off the cart; empty: on it as of the day"), MOMENT),
        Column("ended_by", _("entry that ended it")),
        Column("ended_how", _("removed, or another lift was fitted")),
        Column("why_removed", _("why it was taken off")),
    ),
    told_chapters,
)

WHEELS_OFF = fact_table(
    "wheels_off.csv",
    _("each time a wheel was off its cart: its lugs are new to the hub again"),
    said("wheel_off", _("the entry that says so"), field="id"),
    (
        said("wheel", _("the wheel")),
        said("reason", _("why it was off")),
        said("is_tyre_changed", _("the tyre was changed"), YES_NO),
    ),
    lambda batch: ((cart, fact, {}) for cart, fact in batch.standing(WheelOff)),
)
