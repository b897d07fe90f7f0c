"""The bundle's tables of further parts of rounds: test drives, and grease by kind and grams."""

from collections import defaultdict

from django.utils.translation import gettext_lazy as _

from fleet.bundle.columns import YES_NO, Column, number
from fleet.bundle.shapes import fact_table, said
from lifts.lubricant import grams_given, must_purge
from lifts.models import DriveCheck, GreasePart, GreaseStroke

OF_ROUND = said("round", _("the round; see rounds.csv"))


def parts_of(batch, model):
    """Yield (cart, part) for the parts of a kind in the rounds that are the site's to tell."""
    for cart in batch.carts:
        yield from ((cart, fact) for fact in parts_at(cart, cart.own(cart.facts.rounds), model))


def parts_at(cart, rounds, model) -> list:
    """Return the parts of a kind in these rounds at a cart, by time."""
    return [
        fact
        for row in rounds
        for fact, _outcome in cart.facts.parts.get(row.pk, ())
        if isinstance(fact, model)
    ]


DRIVES = fact_table(
    "drive_checks.csv",
    _("each test drive"),
    said("drive_check", _("the test drive"), field="id"),
    (
        OF_ROUND,
        said("clear_at_lock", _("no rub at full lock"), YES_NO),
        said("clear_at_bump", _("no rub at full bump"), YES_NO),
        said("runs_straight", _("runs straight"), YES_NO),
        said("is_quiet", _("no knock, no shake"), YES_NO),
        said("driven_typed", _("how far it was driven, as typed")),
        said("driven_m", _("how far it was driven"), "m", numeric=True),
    ),
    lambda batch: ((cart, fact, {}) for cart, fact in parts_of(batch, DriveCheck)),
)


def told_grease(batch):
    parts = list(parts_of(batch, GreasePart))
    strokes = defaultdict(list)
    for stroke in GreaseStroke.objects.filter(fact__in=[fact.pk for _cart, fact in parts]):
        strokes[stroke.fact_id].append(stroke)
    for cart, fact in parts:
        yield cart, fact, _of_grease(fact, strokes[fact.pk])


def _of_grease(fact, strokes):
    found = [stroke.found for stroke in strokes]
    counted = [s for s in strokes if s.found == GREASED and s.strokes is not None and s.fittings]
    grams = None
    if fact.grams_a_stroke is not None:
        grams = grams_given(fact.grams_a_stroke, [(s.strokes, s.fittings) for s in counted])
    return {
        "purge_asked": must_purge(fact.thickener_before, fact.thickener),
        "grams": grams,
        "greased": found.count(GREASED),
        "strokes_counted": len(counted),
        "blocked": found.count(GreaseStroke.Found.BLOCKED),
        "not_reached": found.count(GreaseStroke.Found.NOT_REACHED),
    }


GREASED = GreaseStroke.Found.GREASED
GREASE = fact_table(
    "grease_rounds.csv",
    _("each time grease points were gone round; findings.csv tells of them point by point"),
    said("grease", _("the grease part of a round"), field="id"),
    (
        OF_ROUND,
        said("lubricant", _("lubricant")),
        said("thickener", _("its thickener; empty: not recorded")),
        said("thickener_before", _("thickener of what was in the points before")),
        Column("purge_asked", _("computed: another thickener, so every point is purged"), YES_NO),
        said("grams_a_stroke", _("what the gun gives a stroke"), "g", numeric=True),
        number("grams", _("computed: pumped in, at the points whose strokes were counted"), "g"),
        number("greased", _("points greased")),
        number("strokes_counted", _("of them, with strokes counted at each fitting")),
        number("blocked", _("points whose fitting was blocked or missing")),
        number("not_reached", _("points not reached")),
    ),
    told_grease,
)
