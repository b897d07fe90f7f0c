"""The figures of the bundle, each with its definition, counted while the carts go by."""

from django.utils.translation import gettext_lazy as _

from fleet.bundle.cart_figures import CartCount
from fleet.bundle.columns import Column, Table, number
from fleet.bundle.figure import LineCount, NotRecorded
from fleet.bundle.work_figures import RuleCount, TagCount, WorkCount
from fleet.kinds import register

OWN = (
    NotRecorded(
        "carts_on_schedule",
        _("carts on the insurer's schedule"),
        _("the schedule of the policy is not kept here: compare the register with it by hand"),
    ),
    CartCount,
    WorkCount,
    LineCount(
        "stops_breached",
        _("stops breached"),
        "stopped_moving.csv",
        _("stop limits after which a meter rose on a later day, before the recheck was done"),
    ),
    LineCount(
        "tagged_moving",
        _("tagged carts that moved"),
        "tagged_moving.csv",
        _("tags during which a meter rose, test drives among them"),
    ),
    LineCount(
        "lay_ups",
        _("lay-ups"),
        "lay_ups.csv",
        _("lay-ups of the carts at the site, however long ago, void ones too"),
    ),
    TagCount,
    LineCount(
        "same_person",
        _("released by the same person"),
        "same_person.csv",
        _("hand-backs by who did the repair, or a round on the cart since the tag"),
    ),
    LineCount(
        "late_written",
        _("written late"),
        "late_written.csv",
        _("entries that arrived more than 24 hours after they were done"),
    ),
    LineCount(
        "taken_back",
        _("entries taken back"),
        "corrections.csv",
        _("entries that were struck or corrected, each part of a round counted"),
    ),
    LineCount(
        "softened",
        _("verdicts turned better by a correction"),
        "softened.csv",
        _("those corrected after a tag or a report on that cart, or more than 7 days later"),
    ),
    LineCount(
        "moved",
        _("rounds moved between carts"),
        "moves.csv",
        _("lines of moves.csv: one on the cart left, one on the cart where the round came"),
    ),
    LineCount(
        "unproven",
        _("unproven lifts"),
        "unproven.csv",
        _("lifts without papers and without a baseline round"),
    ),
    LineCount(
        "insurer_not_told",
        _("lifted carts without a day on which the insurer was told"),
        "insurer_not_told.csv",
        _("lifted carts in the fleet as of the day for which no such day is recorded"),
    ),
    RuleCount,
)


class Figures:
    """All that is counted while the carts go by: the fleet's own and what apps count."""

    def __init__(self, scope):
        self.counts = [make(scope) for make in (*OWN, *register.bundle_figures)]

    def take(self, batch):
        for count in self.counts:
            count.take(batch)


def figure_rows(figures, lines):
    for count in figures.counts:
        yield from (figure._asdict() for figure in count.figures(lines))


FIGURES = Table(
    "figures.csv",
    _("the figures of the period and of the day, each with its definition"),
    (
        Column("code", _("short name of the figure")),
        Column("title", _("what it says")),
        Column("value", _("the figure; or: not recorded")),
        Column("unit", _("its unit")),
        number("low", _("lower end of the 95 % interval of a share"), "%"),
        number("high", _("upper end of that interval"), "%"),
        Column("definition", _("how it is counted, or what is missing")),
        Column("table", _("the table that lists what was counted")),
    ),
    figure_rows,
    per_cart=False,
    key=("code",),
    gather=Figures,
)
