"""The bundle's tables of lifts: each chapter of a cart's life, and each wheel taken off."""

from django.utils.translation import gettext_lazy as _

from fleet.bundle.cells import done_at
from fleet.bundle.columns import CART, MOMENT, YES_NO, Column, Table
from fleet.bundle.shapes import OF_LINE, fact_table, said, said_by_line, said_in_line
from lifts.fitting_record import warnings_of
from lifts.models import Fitting, FittingLength, Removal, WheelOff


def told_chapters(batch):
    spans = {span.fitting_id: span for cart in batch.carts for span in cart.facts.chapters}
    fittings, lines = fittings_in(batch)
    ends = [span.ended_by for span in spans.values() if span.ended_by]
    ended_by = {**Removal.objects.in_bulk(ends), **Fitting.objects.in_bulk(ends)}
    for cart in batch.carts:
        for fitting in cart.own([fittings[span.fitting_id] for span in cart.facts.chapters]):
            end = ended_by.get(spans[fitting.pk].ended_by)
            cells = {
                **_kit(fitting.kit),
                "fitted_by": batch.scope.typed(fitting.fitted_by),
                "handed_to": batch.scope.typed(fitting.handed_to or ""),
                "remarks": "; ".join(warnings_of(fitting, lines[fitting.pk])),
            }
            yield cart, fitting, {**cells, **_ended(end, batch.scope)}


def fittings_in(batch) -> tuple[dict, dict]:
    """Return the fittings of a batch's chapters, and the lengths of their records, by their id."""
    told = batch.once(_recorded)
    return {one.pk: one for one, _lines in told}, {one.pk: lines for one, lines in told}


def _recorded(batch):
    keys = [span.fitting_id for cart in batch.carts for span in cart.facts.chapters]
    fittings = Fitting.objects.select_related("kit", "site").in_bulk(keys)
    lines = lengths_of(fittings)
    return ((one, lines[key]) for key, one in fittings.items())


def lengths_of(fitting_ids) -> dict:
    """Return {fitting id: the lengths of its record}, with one query."""
    lines = {key: [] for key in fitting_ids}
    found = FittingLength.objects.filter(fact__in=list(lines))
    for line in found.order_by("fact", "place"):
        lines[line.fact_id].append(line)
    return lines


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
        said("tyre_rating", _("rating marked on the tyres")),
        said("u_bolt_batch", _("batch of the U-bolts")),
        said("u_bolts_new", _("the U-bolts were new"), YES_NO),
        said("u_bolt_thread", _("thread of the U-bolts")),
        said("u_bolt_grade", _("grade marked on them; none seen where so written")),
        said("u_bolts_a_side", _("U-bolts a side"), numeric=True),
        said("block_taper", _("direction of the blocks' taper")),
        said("block_why", _("why blocks of that height")),
        said("hub_bearing", _("type of hub bearing: sealed or taper")),
        said("lug_seat", _("seat of the lugs: cone, ball or flat")),
        said("locker_used", _("thread-locker used, and where")),
        said("reused_parts", _("parts used again")),
        said("brake_tensioned", _("the brake was tensioned again"), YES_NO),
        said("clear_at_lock", _("no rub at full lock and full bump"), YES_NO),
        said("competence", _("licence or competence of the fitter, as typed")),
        Column("handed_to", _("handed over to, as typed; of a person here the reference")),
        said("label_batch", _("batch of the label used")),
        Column("remarks", _("computed: sides that stand unequal, U-bolts used again")),
        said("note", _("note")),
        Column("until_at", _("off the cart; empty: on it as of the day"), MOMENT),
        Column("ended_by", _("entry that ended it")),
        Column("ended_how", _("removed, or another lift was fitted")),
        Column("why_removed", _("why it was taken off")),
    ),
    lambda batch: batch.once(told_chapters),
)


def length_rows(batch):
    """Yield each length of the fittings that are told of, cart by cart."""
    _fittings, lines = fittings_in(batch)
    for cart, fitting, _cells in batch.once(told_chapters):
        for line in lines[fitting.pk]:
            about = {**cart.named(fitting.done_at), "chapter": fitting.pk}
            yield {**about, **said_by_line(line, OF_LENGTH)}


OF_LENGTH = (
    *OF_LINE,
    said_in_line("what", _("what was measured")),
    said_in_line("where", _("where on the cart; empty: one place alone")),
    said_in_line("before_typed", _("before the fitting, as typed")),
    said_in_line("before_mm", _("before the fitting"), "mm", numeric=True),
    said_in_line("after_typed", _("after it, as typed")),
    said_in_line("after_mm", _("after it"), "mm", numeric=True),
)
LENGTHS = Table(
    "fitting_lengths.csv",
    _("the lengths of each fitting: ride height, track, wheels, blocks, U-bolts, brake travel"),
    (
        *CART,
        said("chapter", _("the fitting; see lift_chapters.csv"), field="id"),
        *OF_LENGTH,
    ),
    length_rows,
    entry="chapter",
    key=("chapter", "of", "place"),
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
