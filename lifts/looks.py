"""What earlier looks say of the joints of a cart, for who goes round them next.

Three queries a cart, however many joints and rounds there are.
"""

from collections import defaultdict
from dataclasses import dataclass, field
from datetime import datetime
from itertools import groupby
from operator import itemgetter
from typing import NamedTuple
from uuid import UUID

from fleet.kinds import Cut
from lifts.lift_on import bare_since, earliest, lift_on
from lifts.models import JointPart, Look, Stage

LOOSE = {Look.Found.SLACK, Look.Found.GONE}


@dataclass(frozen=True)
class Before:
    """What is known of one joint before a look at it; empty for a joint never looked at.

    ``found`` is what the last look found, reached or not. ``loose_before`` counts the looks
    in a row, up to now, that found it loose; ``clean_since`` those in a row that found it
    firm since it last was, None where it never was. ``removals`` says how often its nut was
    taken off since it was new. ``hub_bearing`` is what was said last of it.
    """

    found: str = ""
    done_at: datetime | None = None
    loose_before: int = 0
    clean_since: int | None = None
    removals: int = 0
    hub_bearing: str = ""

    def with_look(self, look, times=1) -> "Before":
        """Return what is known once this look is past too; one not reached tells nothing new.

        ``times`` as many looks in a row found the very same, of which it is the last.
        """
        done_at = look.fact.done_at
        if look.found == Look.Found.NOT_REACHED:
            return Before(**{**vars(self), "found": look.found, "done_at": done_at})
        loose, clean = self._runs_after(look, times)
        return Before(
            found=look.found,
            done_at=done_at,
            loose_before=loose,
            clean_since=clean,
            removals=self._removals_after(look, times),
            hub_bearing=look.hub_bearing or self.hub_bearing,
        )

    def _runs_after(self, look, times):
        if is_loose(look.found, look.fact.stage):
            return self.loose_before + times, 0
        if self.clean_since is None:
            return 0, None
        return 0, self.clean_since + times if look.found == Look.Found.FIRM else 0

    def _removals_after(self, look, times):
        if look.action == Look.Action.NUT:
            return 0
        return self.removals + times * bool(look.nut_off)


def is_loose(found, stage) -> bool:
    """Whether a look found its joint loose: what took up is so once bedding is past."""
    return found in LOOSE or (found == Look.Found.TOOK_UP and stage == Stage.RECURRING)


@dataclass(frozen=True)
class LooksBefore:
    """What is known of each joint of a cart by its name, within the lift that is on it."""

    by_name: dict[str, Before] = field(default_factory=dict)
    hub_bearing: str = ""
    fitting_id: UUID | None = None

    def of(self, joint) -> Before:
        known = self.by_name.get(joint.name, Before())
        if joint.family != joint.Family.HUB_NUTS or known.hub_bearing:
            return known
        return Before(**{**vars(known), "hub_bearing": self.hub_bearing})


class LookRow(NamedTuple):
    """A look as a plain row: of these a cart has thousands."""

    name: str
    found: str
    action: str
    nut_off: bool | None
    hub_bearing: str
    done_at: datetime
    stage: str

    @property
    def fact(self):
        return self


LOOK_COLUMNS = (*LookRow._fields[:-2], "fact__done_at", "fact__stage")
BUT_THE_TIME = itemgetter(
    *(place for place, name in enumerate(LookRow._fields) if name != "done_at")
)


def looks_before(cart, cut: Cut, *, but_round=None) -> LooksBefore:
    """Return what the standing looks within the cut say, but for those of a round told again."""
    return looks_since(lift_on(cart, cut), cart, cut, but_round=but_round)


def looks_since(lift, cart, cut: Cut, *, but_round=None) -> LooksBefore:
    """Return the same of the lift that is on the cart within the cut, by one query."""
    by_name = defaultdict(list)
    for look in _looks_at(cart, lift, cut, but_round).values_list(*LOOK_COLUMNS):
        by_name[look[0]].append(look)
    known = {name: _known_by(looks) for name, looks in by_name.items()}
    bearing = (lift and lift.hub_bearing) or ""
    return LooksBefore(known, bearing, lift and lift.pk)


def _known_by(looks):
    """Return what the rows of one joint say, the oldest first: most repeat the one before."""
    known = Before()
    for _same, run in groupby(looks, key=BUT_THE_TIME):
        repeated = list(run)
        known = known.with_look(LookRow._make(repeated[-1]), len(repeated))
    return known


def last_looks(cart, cut: Cut) -> dict[str, Look]:
    """Return the last standing look at each joint of a cart by its name, with its wrench."""
    looks = _looks_at(cart, lift_on(cart, cut), cut)
    last = dict(looks.values_list("name", "pk"))
    found = Look.objects.select_related("fact", "wrench").in_bulk(last.values())
    return {name: found[pk] for name, pk in last.items()}


def _looks_at(cart, lift, cut, but_round=None):
    """The standing looks at the lift that is on the cart, or since it bears none, oldest first."""
    parts = JointPart.objects.known(cut.happened_by, cut.known_by).standing(cut.known_by)
    parts = parts.filter(cart_id=cart.pk).exclude(round=but_round)
    since = earliest(lift, cart) if lift else bare_since(cart, cut)
    parts = parts.filter(done_at__gte=since) if since else parts
    looks = Look.objects.filter(fact__in=parts)
    return looks.order_by("fact__done_at", "fact", "place")
