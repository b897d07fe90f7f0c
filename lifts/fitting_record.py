"""A fitting record in words: every field by its group, and what is to be looked at in it."""

from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal
from typing import NamedTuple

from django.utils.translation import gettext, gettext_lazy
from django.utils.translation import gettext_lazy as _

from lifts.fitting_lengths import LENGTHS, found_by_name
from lifts.forms_fittings import GROUPS, FittingForm
from lifts.models import Fitting, Kit
from shared.units import shown

# 1/2 in, left against right: judgement, no source
UNEVEN_MM = Decimal("12.7")
NOT_RECORDED = gettext_lazy("not recorded")
MATTERS = {
    "fitted_by",
    "rise_front",
    "rise_rear",
    "hub_bearing",
    "lug_seat",
    "tyre_after",
    "wheel_offset",
    "brake_tensioned",
    "clear_at_lock",
    "handed_to",
    "label_batch",
    "locker_used",
    "brake_travel",
    "ride_lf",
    "ride_rf",
    "ride_lr",
    "ride_rr",
}
OF_BLOCKS = {"block_left", "block_right", "block_taper"}
OF_U_BOLTS = {"u_bolts_new", "u_bolt_thread", "u_bolts_a_side", "u_bolt_grade", "u_bolt_batch"}
WITH_BLOCKS = {Kit.Rear.BLOCK, Kit.Rear.BOTH}
SIDES = (
    (_("Front"), "ride_lf", "ride_rf"),
    (_("Rear"), "ride_lr", "ride_rr"),
)


class Row(NamedTuple):
    """One field of the record; ``value`` is empty where nothing was recorded."""

    name: str
    label: str
    value: str
    matters: bool

    @property
    def is_missing(self):
        return self.matters and not self.value


class Group(NamedTuple):
    title: str
    rows: list[Row]

    @property
    def recorded(self):
        return [row for row in self.rows if row.value]


def record_of(fitting: Fitting, lines: Sequence) -> list[Group]:
    """Return every field of a fitting record in words, grouped as its form is."""
    values = dict(_values(fitting, found_by_name(lines)))
    matters = _matters(fitting.kit)

    def rows(pairs):
        return [
            Row(name, str(label), values.get(name, ""), name in matters) for name, label in pairs
        ]

    first = ["kit", "fitted_by", "firm", "competence", "paperwork"]
    groups = [Group(gettext("The lift"), rows(_labelled(first)))]
    for group, title, before, after in GROUPS:
        lengths = [(one.name, one.label) for one in LENGTHS if one.group == group]
        pairs = [*_labelled(before), *lengths, *_labelled(after)]
        groups.append(Group(str(title), rows(pairs)))
    return groups


def missing_in(record: Sequence[Group]) -> str:
    """Return what matters and is not recorded, in one line."""
    labels = (row.label for group in record for row in group.rows if row.is_missing)
    return "; ".join(label.rstrip("?") for label in labels)


def _labelled(names) -> list[tuple[str, str]]:
    sizes = {"tyre_before_size", "tyre_after_size"}
    labels = {"rise_front": _("Rise in front"), "rise_rear": _("Rise behind")}
    fields = FittingForm.base_fields
    return [
        (name, labels[name] if name in labels else fields[name].label)
        for name in names
        if name not in sizes
    ]


def _matters(kit) -> set[str]:
    has_blocks = kit.rear in WITH_BLOCKS
    return MATTERS | (OF_BLOCKS | OF_U_BOLTS if has_blocks else set())


def _values(fitting, lengths: Mapping) -> Iterator[tuple[str, str]]:
    units = fitting.site.units
    for name in ("fitted_by", "firm", "competence", "block_taper", "block_why", "u_bolt_thread"):
        yield name, getattr(fitting, name) or ""
    for name in ("u_bolt_grade", "u_bolt_batch", "reused_parts", "locker_used", "tyre_rating"):
        yield name, getattr(fitting, name) or ""
    for name in ("handed_to", "label_batch", "note"):
        yield name, getattr(fitting, name) or ""
    for name in ("hub_bearing", "lug_seat", "paperwork"):
        yield name, str(getattr(fitting, f"get_{name}_display")() or "")
    for name in ("u_bolts_new", "brake_tensioned", "clear_at_lock"):
        yield name, _answered(getattr(fitting, name))
    yield "kit", str(fitting.kit)
    yield "u_bolts_a_side", str(fitting.u_bolts_a_side or "")
    for name in ("rise_front", "rise_rear"):
        yield (
            name,
            _length(getattr(fitting, f"{name}_typed"), getattr(fitting, f"{name}_mm"), units),
        )
    for name in ("tyre_before", "tyre_after"):
        size = getattr(fitting, f"{name}_mm")
        said = [getattr(fitting, name), size is not None and shown(size, "length", units)]
        yield name, ", ".join(one for one in said if one)
    for name, line in lengths.items():
        yield name, _before_after(line, units)


def _answered(answer) -> str:
    return "" if answer is None else gettext("yes") if answer else gettext("no")


def _before_after(line, units) -> str:
    """Return both figures: "3 in → 6 in (152.4 mm)"; one alone where one was measured."""
    after = _length(line.after_typed, line.after_mm, units)
    if line.before_mm is None:
        return after
    before = _length(line.before_typed, line.before_mm, units)
    return f"{before} → {after or NOT_RECORDED}"


def _length(typed, mm, units) -> str:
    """Return a length as typed, with its unit where none was typed."""
    if mm is None:
        return ""
    if any(letter.isalpha() or letter in "\"'″′" for letter in typed):
        return typed
    return shown(mm, "length", units)


def warnings_of(fitting, lines) -> list[str]:
    """Return what is to be looked at in a record: sides apart, U-bolts used again."""
    lengths, units = found_by_name(lines), fitting.site.units
    return [*_uneven(lengths, units), *_blocks_apart(lengths, units), *_used_again(fitting)]


def _uneven(lengths, units) -> Iterator[str]:
    for end, left, right in SIDES:
        pair = [name in lengths and lengths[name].after_mm for name in (left, right)]
        if None in pair or False in pair or abs(pair[0] - pair[1]) <= UNEVEN_MM:
            continue
        said = _("%(end)s ride height: left %(apart)s higher than right")
        if pair[0] < pair[1]:
            said = _("%(end)s ride height: right %(apart)s higher than left")
        apart = shown(abs(pair[0] - pair[1]), "length", units)
        yield said % {"end": end, "apart": apart}


def _blocks_apart(lengths, units) -> Iterator[str]:
    pair = [name in lengths and lengths[name].after_mm for name in ("block_left", "block_right")]
    if None in pair or False in pair or pair[0] == pair[1]:
        return
    figures = [shown(one, "length", units) for one in pair]
    yield _("Blocks differ: left %(left)s, right %(right)s") % dict(
        zip(("left", "right"), figures, strict=True)
    )


def _used_again(fitting) -> Iterator[str]:
    if fitting.u_bolts_new is False:
        yield gettext("Old U-bolts were used: never use U-bolts again")


class Compared(NamedTuple):
    """One field of several lifts; ``differs`` where they do not all say the same.

    ``heads`` are the columns' own, such as when each was fitted.
    """

    label: str
    heads: Sequence
    values: list[str]
    differs: bool

    @property
    def by_lift(self):
        return zip(self.heads, self.values, strict=True)


def compared(records: Sequence[list[Group]], heads: Sequence) -> list[tuple[str, list[Compared]]]:
    """Return every field of several records side by side, by group."""
    return [
        (
            groups[0].title,
            [_compared(rows, heads) for rows in zip(*(one.rows for one in groups), strict=True)],
        )
        for groups in zip(*records, strict=True)
    ]


def _compared(rows, heads) -> Compared:
    values = [str(row.value or NOT_RECORDED) for row in rows]
    return Compared(rows[0].label, heads, values, len(set(values)) > 1)
