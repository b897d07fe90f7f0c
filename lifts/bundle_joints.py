"""The bundle's tables of joints: each time they were gone round, and the share found loose."""

from collections import Counter, defaultdict
from decimal import Decimal

from django.db.models import Count
from django.utils.translation import gettext_lazy as _

from fleet.bundle.columns import Column, Table, number
from fleet.bundle.figure import Figure
from fleet.bundle.shapes import fact_table, said
from fleet.shares import score_interval
from lifts.models import JointPart, Look

Found = Look.Found
COUNTS = {
    "firm": Found.FIRM,
    "took_up": Found.TOOK_UP,
    "slack": Found.SLACK,
    "gone": Found.GONE,
    "not_reached": Found.NOT_REACHED,
}
LOOSE, MOVED = ("slack", "gone"), ("took_up", "slack", "gone")
PERCENT = Decimal("0.1")
COUNTED = (
    number("firm", _("joints found firm")),
    number("took_up", _("joints that took up before their target")),
    number("slack", _("joints found slack")),
    number("gone", _("joints found gone, broken or stripped")),
    number("not_reached", _("joints not reached")),
)


def joint_parts(batch):
    """Yield (cart, joint part) of the rounds that are the site's to tell."""
    for cart in batch.carts:
        for row in cart.own(cart.facts.rounds):
            for fact, _outcome in cart.facts.parts.get(row.pk, ()):
                if isinstance(fact, JointPart):
                    yield cart, fact


def told_joints(batch):
    parts = list(joint_parts(batch))
    looks = Look.objects.filter(fact__in=[fact.pk for _cart, fact in parts]).order_by()
    found = defaultdict(Counter)
    for fact_id, word, count in looks.values_list("fact", "found").annotate(Count("pk")):
        found[fact_id][word] = count
    for cart, fact in parts:
        yield cart, fact, {name: found[fact.pk][word] for name, word in COUNTS.items()}


JOINT_ROUNDS = fact_table(
    "joint_rounds.csv",
    _("each time the joints were gone round: with which wrenches, and how many were found how"),
    said("joints", _("the joints part of a round"), field="id"),
    (
        said("round", _("the round; see rounds.csv, and joint_looks.csv joint by joint")),
        said("stage", _("settling: after a fitting; recurring: later")),
        said("wrench", _("torque wrenches carried, as named then; empty: not recorded")),
        *COUNTED,
    ),
    told_joints,
)


def _counted(batch):
    """Return (kit, family, stage, found, how many) of the looks."""
    ids = [fact.pk for _cart, fact in joint_parts(batch)]
    about = ("joint__kit__code", "family", "fact__stage", "found")
    looks = Look.objects.filter(fact__in=ids).order_by()
    return looks.values_list(*about).annotate(Count("pk")) if ids else ()


class LooseCount:
    """Counts what the looks found, by kit, family of joints and stage: never pooled."""

    def __init__(self, scope):
        self.found = defaultdict(Counter)

    def take(self, batch):
        for *key, word, count in batch.once(_counted):
            self.found[tuple(key)][word] += count

    def shares(self):
        """Yield a row of each kit, family and stage, in their order."""
        for (kit, family, stage), counts in sorted(self.found.items()):
            found = {name: counts[word] for name, word in COUNTS.items()}
            looks = sum(found.values()) - found["not_reached"]
            yield {
                "kit_code": kit,
                "family": family,
                "stage": stage,
                "looks": looks,
                **found,
                **_share("loose", sum(found[name] for name in LOOSE), looks),
                **_share("moved", sum(found[name] for name in MOVED), looks),
            }

    def figures(self, lines):
        for row in self.shares():
            kit, family, stage = (row[name] for name in ("kit_code", "family", "stage"))
            yield Figure(
                f"found_loose_{kit}_{family}_{stage}",
                _("found loose: %(family)s, %(stage)s, kit %(kit)s")
                % {"family": family, "stage": stage, "kit": kit},
                row["loose_percent"],
                "%",
                FIGURE,
                FOUND_LOOSE.name,
                row["loose_low"],
                row["loose_high"],
            )


FIGURE = _(
    "slack or gone among the looks in which the joint was reached, with the 95 % score interval "
    "(Wilson 1927); kits and stages are never pooled; a share of few looks says little"
)


def _share(name, found, looks):
    percents = [None] * 3
    if looks:
        ends = score_interval(found, looks)
        percents = [_percent(share) for share in (found / looks, *ends)]
    names = (f"{name}_percent", f"{name}_low", f"{name}_high")
    return dict(zip(names, percents, strict=True))


def _percent(share):
    return Decimal(str(100 * share)).quantize(PERCENT)


FOUND_LOOSE = Table(
    "found_loose.csv",
    _("how often joints were found loose, by kit, family of joints and stage"),
    (
        Column("kit_code", _("the kit's short name in rules")),
        Column("family", _("family of joints")),
        Column("stage", _("settling: after a fitting; recurring: later")),
        number("looks", _("looks in which the joint was reached")),
        *COUNTED,
        number("loose_percent", _("slack or gone among the looks"), "%"),
        number("loose_low", _("lower end of its 95 % score interval"), "%"),
        number("loose_high", _("upper end of that interval"), "%"),
        number("moved_percent", _("took up, slack or gone among the looks"), "%"),
        number("moved_low", _("lower end of its 95 % score interval"), "%"),
        number("moved_high", _("upper end of that interval"), "%"),
    ),
    lambda loose, lines: loose.shares(),
    per_cart=False,
    key=("kit_code", "family", "stage"),
    gather=LooseCount,
)
