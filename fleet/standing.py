"""Reads the standing facts of carts, as of two moments.

A constant number of queries however many carts are asked for, none of a table without a row.
"""

from collections import defaultdict
from dataclasses import dataclass, field
from functools import partial
from uuid import UUID

from fleet.kinds import Cut, register
from fleet.lateness import acts_from, arrival_of, needs_countersign
from fleet.models import (
    Countersign,
    HandBack,
    MeterFitted,
    Reading,
    RecheckOrder,
    Round,
    Tag,
)
from fleet.tellings import all_tellings, first_arrival
from fleet.told_of import told_of
from shared.clock import FOREVER
from shared.models import Change
from shared.standing import standing_facts, standing_rows

EVERYTHING = Cut(FOREVER, FOREVER)
LAID_UP, LEFT_FLEET = "laid up", "left"


@dataclass
class CartFacts:
    """All standing facts of one cart within a cut, each list by time.

    ``parts`` holds, by round, each part's fact with its Outcome. Of what was told again,
    ``told_first`` holds the first telling, ``told_at`` when its work was first told of.
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
    countersigns: list = field(default_factory=list)
    parts: dict = field(default_factory=lambda: defaultdict(list))
    told_first: dict = field(default_factory=dict)
    told_at: dict = field(default_factory=dict)

    def open_tags(self):
        """The tags that no hand-back has answered."""
        given_back = {back.tag_id for back in self.hand_backs}
        return [tag for tag in self.tags if tag.pk not in given_back]

    def first_of(self, fact):
        """Return the first telling of a fact: itself where it was told once."""
        return self.told_first.get(fact.pk, fact)

    def arrived_at(self, fact):
        """Return when a fact's work was first told of: a correction may add to it."""
        return self.told_at.get(fact.pk) or arrival_of(fact)

    def acts_at(self, change):
        """Return from when a change of the register acts, whatever day its entry says."""
        if change.what not in (LAID_UP, LEFT_FLEET):
            return change.done_at
        return acts_from(change.done_at, self.arrived_at(change), change.brought_in)

    def all_arrived_at(self, row):
        """Return when the last of a round's work was first told of."""
        parts = self.parts.get(row.pk, ())
        return max(self.arrived_at(fact) for fact in (row, *(fact for fact, _outcome in parts)))

    def counting(self, row):
        """Return the parts of a round that may close work, each with its Outcome.

        One that arrived more than a week late counts once a manager has countersigned this
        very telling of its round. Only closing waits for that: what the round found starts
        its clocks and puts its tags on at once, signed or not.
        """
        parts = self.parts.get(row.pk, ())
        if row.pk in {one.about for one in self.countersigns}:
            return list(parts)
        return [pair for pair in parts if not self._is_too_late(pair[0])]

    def waits_for_countersign(self, row):
        return bool(self.waiting(row))

    def waiting(self, row):
        """Return the parts of a round that close nothing until a manager countersigns it."""
        counting = {fact.pk for fact, _outcome in self.counting(row)}
        return [fact for fact, _outcome in self.parts.get(row.pk, ()) if fact.pk not in counting]

    def _is_too_late(self, fact):
        return needs_countersign(fact.done_at, self.arrived_at(fact), fact.brought_in)


OF_FLEET = {
    "changes": Change,
    "meters": MeterFitted,
    "readings": Reading,
    "rounds": Round,
    "orders": RecheckOrder,
    "tags": Tag,
    "hand_backs": HandBack,
}
OF_RUNNING = ("changes", "meters", "readings")
# of these there are many, or they are asked for most: as rows, not instances
AS_ROWS = {Change, MeterFitted, Reading, Round}
OF_PART = (
    *("id", "cart_id", "round_id", "done_at", "written_at", "received_at"),
    *("brought_in", "corrects"),
)
# all that a cart's dates rest on, where nobody looks at the facts themselves
ENOUGH_FOR_DATES = {
    MeterFitted: (
        *("cart_id", "done_at", "measure", "unit", "start_shown", "old_final"),
        *("rolls_at", "wheel_driven", "set_for_mm"),
    ),
    Reading: (
        *("cart_id", "site_id", "done_at", "source"),
        *("hours_shown", "distance_shown", "hours_rolled", "distance_rolled"),
    ),
}


def facts_of(cart_ids, cut=EVERYTHING):
    """Return {cart id: CartFacts} of everything that stands within the cut."""
    return _facts_of(cart_ids, cut, {})


def facts_for_dates(cart_ids, cut=EVERYTHING):
    """Return the same, but of meters, readings and parts only what dates rest on.

    Of meters and readings no earlier telling is read.
    """
    parts = (part.model for part in register.parts.values() if part.model.judged_by)
    judged = {model: (*OF_PART, *model.judged_by) for model in parts}
    return _facts_of(cart_ids, cut, ENOUGH_FOR_DATES | judged)


def _facts_of(cart_ids, cut, enough):
    ids = list(cart_ids)
    found = {cart_id: CartFacts(cart_id) for cart_id in ids}
    told = told_of(ids, _models())
    for name, model in OF_FLEET.items():
        if model in told:
            rows = _rows(model, ids, cut, enough.get(model))
            _keep(found, rows, name)
            if model not in enough:
                _keep_first(found, rows, model)
    _leave_what_acts(found, cut)
    if Countersign in told:
        signed = _signed(ids, cut)
        _keep(found, signed, "countersigns")
        _keep_first(found, signed, Countersign)
    for source in register.sources:
        if not source.models or told.intersection(source.models):
            _collect_source(found, source, ids, cut)
    for part in register.parts.values():
        if part.model in told:
            _collect_part(found, part, ids, cut, enough.get(part.model))
    return found


def running_of(cart_ids, cut=EVERYTHING):
    """Return {cart id: CartFacts} with what a cart's running and its lifts rest on, and no more."""
    return _running_of(cart_ids, cut, {})


def running_for_dates(cart_ids, cut=EVERYTHING):
    """Return the same, but of meters and readings only what dates rest on."""
    return _running_of(cart_ids, cut, ENOUGH_FOR_DATES)


def _running_of(cart_ids, cut, enough):
    ids = list(cart_ids)
    found = {cart_id: CartFacts(cart_id) for cart_id in ids}
    for name in OF_RUNNING:
        model = OF_FLEET[name]
        rows = _rows(model, ids, cut, enough.get(model))
        _keep(found, rows, name)
        if model not in enough:
            _keep_first(found, rows, model)
    _leave_what_acts(found, cut)
    lifts_into(found, cut)
    return found


def _leave_what_acts(found, cut):
    for facts in found.values():
        facts.changes = [one for one in facts.changes if facts.acts_at(one) <= cut.happened_by]


def lifts_into(found, cut=EVERYTHING):
    """Add to {cart id: CartFacts} the carts' chapters and what else starts clocks."""
    for source in register.sources:
        _collect_source(found, source, list(found), cut)


def _models():
    own = [*OF_FLEET.values(), Countersign, *(part.model for part in register.parts.values())]
    return (*own, *(model for source in register.sources for model in source.models))


def _rows(model, ids, cut, columns=None):
    if model in AS_ROWS:
        return standing_rows(model, ids, cut.happened_by, cut.known_by, columns)
    return standing_facts(model, ids, cut.happened_by, cut.known_by)


def _signed(ids, cut):
    # like a correction it counts from when it was known, whenever the work was done
    signed = Countersign.objects.filter(received_at__lte=cut.known_by).standing(cut.known_by)
    return list(signed.filter(cart_id__in=ids).order_by("done_at", "id"))


def _collect_source(found, source, ids, cut):
    happenings, chapters = source.told(ids, cut)
    _keep(found, happenings, "happenings")
    _keep(found, chapters, "chapters")


def _keep(found, facts, name):
    lists = {cart_id: getattr(one, name) for cart_id, one in found.items()}
    for fact in facts:
        lists[fact.cart_id].append(fact)


def _keep_first(found, facts, model):
    tellings = all_tellings(facts, model)
    for fact in facts:
        if fact.pk in tellings:
            cart, told = found[fact.cart_id], tellings[fact.pk]
            cart.told_first[fact.pk] = told[-1]
            cart.told_at[fact.pk] = first_arrival(fact, told)


def _collect_part(found, part, ids, cut, columns):
    read = partial(standing_rows, columns=columns) if columns else standing_facts
    facts = read(part.model, ids, cut.happened_by, cut.known_by)
    tellings = all_tellings(facts, part.model)
    every = {one.pk: one for told in [facts, *tellings.values()] for one in told}
    outcomes = part.outcomes(list(every.values()))
    for fact in facts:
        cart, outcome = found[fact.cart_id], outcomes[fact.pk]
        cart.parts[fact.round_id].append((fact, outcome))
        if fact.pk in tellings:
            told = tellings[fact.pk]
            able = [one for one in told if outcomes[one.pk].closes_as_much_as(outcome)]
            cart.told_at[fact.pk] = first_arrival(fact, able)
