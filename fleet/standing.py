"""Reads the standing facts of carts, as of two moments.

A constant number of queries however many carts are asked for.
"""

from collections import defaultdict
from dataclasses import dataclass, field
from datetime import UTC, datetime
from uuid import UUID

from fleet.kinds import Cut, register
from fleet.models import HandBack, MeterFitted, Reading, RecheckOrder, Round, Tag
from shared.models import Change

FOREVER = datetime.max.replace(tzinfo=UTC)
EVERYTHING = Cut(FOREVER, FOREVER)


@dataclass
class CartFacts:
    """All standing facts of one cart within a cut, each list by time.

    ``parts`` holds, by round, each part's fact with its Outcome.
    """

    cart_id: UUID
    changes: list = field(default_factory=list)
    meters: list = field(default_factory=list)
    readings: list = field(default_factory=list)
    rounds: list = field(default_factory=list)
    orders: list = field(default_factory=list)
    tags: list = field(default_factory=list)
    hand_backs: list = field(default_factory=list)
    happenings: list = field(default_factory=list)
    chapters: list = field(default_factory=list)
    parts: dict = field(default_factory=lambda: defaultdict(list))

    def open_tags(self):
        """The tags that no hand-back has answered."""
        given_back = {back.tag_id for back in self.hand_backs}
        return [tag for tag in self.tags if tag.pk not in given_back]


OF_FLEET = {
    "changes": Change,
    "meters": MeterFitted,
    "readings": Reading,
    "rounds": Round,
    "orders": RecheckOrder,
    "tags": Tag,
    "hand_backs": HandBack,
}


def facts_of(cart_ids, cut=EVERYTHING):
    """Return {cart id: CartFacts} of everything that stands within the cut."""
    ids = list(cart_ids)
    found = {cart_id: CartFacts(cart_id) for cart_id in ids}
    for name, model in OF_FLEET.items():
        for row in _standing(model, ids, cut):
            getattr(found[row.cart_id], name).append(row)
    for source in register.sources:
        for happening in source.happenings(ids, cut):
            found[happening.cart_id].happenings.append(happening)
        for chapter in source.chapters(ids, cut):
            found[chapter.cart_id].chapters.append(chapter)
    for part in register.parts.values():
        _collect_part(found, part, ids, cut)
    return found


def _standing(model, ids, cut):
    rows = model.objects.known(cut.happened_by, cut.known_by).standing(cut.known_by)
    return rows.filter(cart_id__in=ids).order_by("done_at", "id")


def _collect_part(found, part, ids, cut):
    facts = list(_standing(part.model, ids, cut))
    lines = part.lines_of([fact.pk for fact in facts]) if facts else {}
    for fact in facts:
        outcome = part.outcome(fact, lines.get(fact.pk, []))
        found[fact.cart_id].parts[fact.round_id].append((fact, outcome))
