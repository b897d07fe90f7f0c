"""The carts of a site as of two moments, computed from their facts in batches."""

import re
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date, datetime
from functools import cache, cached_property
from uuid import UUID
from zoneinfo import ZoneInfo

from django.apps import apps
from django.db.models import Count
from django.db.models.fields.json import KeyTextTransform

from fleet.bundle.lifts import PIECE_CARTS, lifts_of
from fleet.bundle.references import ELSEWHERE, owners_of, people_of, stranger
from fleet.gather import JOINED, MOVED, ground_of, site_stays
from fleet.kinds import Cut
from fleet.models import Cart, CartFact, CartNumber, HandBack, Recheck, Tag
from fleet.projection import projected
from fleet.standing import CartFacts, facts_of
from fleet.told_of import told_of
from shared.clock import moment_of
from shared.models import Change, Entry, Person, Site

# some tables go by time within a batch: another number gives other bytes
BATCH_CARTS = 25
READ_BATCHES = 4
READ_ENTRIES = 2000


@dataclass
class Scope:
    """A site within a cut, and what of it is told.

    ``from_day`` leaves out what had happened and arrived before it, ``lifted_only`` the carts
    that never had a lift here. People and owners stand as references unless ``with_names``.
    """

    site: Site
    cut: Cut
    from_day: date | None = None
    lifted_only: bool = False
    with_names: bool = False
    names: dict = field(default_factory=dict)

    @cached_property
    def zone(self):
        return ZoneInfo(self.site.zone)

    @cached_property
    def day(self) -> date:
        """The site's day on which states are judged."""
        return self.site.day(self.cut.happened_by)

    def day_of(self, at) -> date | None:
        return at and self.site.day(at)

    @cached_property
    def since(self) -> datetime | None:
        """The first moment of which visits, readings and the like are told."""
        return self.from_day and moment_of(self.from_day, 0, self.site.zone)

    @cached_property
    def kept(self) -> set:
        """Return the ids of what is told however old: ends of lifts, and tags still on then."""
        ids = set().union(*self.lifts.values())
        return ids if self.since is None else ids | self._tags_on

    @property
    def _tags_on(self):
        backs = self.standing(HandBack).filter(done_at__lt=self.since)
        tags = self.standing(Tag).filter(done_at__lt=self.since)
        return set(tags.exclude(pk__in=backs.order_by().values("tag")).values_list("pk", flat=True))

    def name(self, person_id: UUID | str | None) -> str:
        """Return the reference of a person, after the name if asked; nothing for nobody."""
        if person_id is None:
            return ""
        if person_id not in self.names:
            self.names[person_id] = self._name(UUID(str(person_id)))
        return self.names[person_id]

    def _name(self, person_id):
        reference = self._people.get(person_id) or stranger(person_id)
        if not self.with_names:
            return reference
        return f"{Person.objects.get(pk=person_id).name} ({reference})"

    def typed(self, words: str) -> str:
        """Return words typed to say who, or the reference of the one here of that very name."""
        return words if self.with_names else self._typed.get(_folded(words), words)

    @cached_property
    def _typed(self):
        names = dict(Person.objects.filter(pk__in=self._people).values_list("pk", "name"))
        # of two of one name the first
        return {_folded(names[pk]): self._people[pk] for pk in reversed(self._people)}

    def owner(self, written: str) -> str:
        """Return the reference that stands for an owner as written in the register."""
        if self.with_names or not written:
            return written
        return self._owners.get(written, ELSEWHERE)

    @cached_property
    def _people(self):
        return people_of(self.site, self.cut.known_by)

    @cached_property
    def _owners(self):
        return owners_of(self.site, self.cut.known_by)

    def standing(self, model):
        """Return a model's facts that stand within the cut, in order of time."""
        known = model.objects.known(self.cut.happened_by, self.cut.known_by)
        return known.standing(self.cut.known_by).order_by("done_at", "id")

    @cached_property
    def entries(self):
        """How many entries the site's journal held by then."""
        entries = Entry.objects.filter(site=self.site, received_at__lte=self.cut.known_by)
        return entries.count()

    @cached_property
    def _came(self):
        """Every cart that had come to the site."""
        changes = self._changes.filter(what__in=(JOINED, MOVED))
        return set(changes.values_list("cart_id", flat=True))

    @property
    def _changes(self):
        return self.standing(Change).filter(site=self.site, cart_id__isnull=False)

    @cached_property
    def lifts(self) -> dict:
        """Return {cart: ids of what began and what ended its lifts}, for carts that had one."""
        return lifts_of(self, sorted(self._came))

    @cached_property
    def cart_ids(self) -> list:
        """Every cart that is told of, by painted number."""
        came = self._came
        numbered = self._changes.filter(value__has_key="number").annotate(
            number=KeyTextTransform("number", "value")
        )
        numbered = numbered.values_list("cart_id", "number")
        numbers = {cart_id: number for cart_id, number in numbered.iterator() if cart_id in came}
        told = came & self.lifts.keys() if self.lifted_only else came
        return sorted(told, key=lambda cart_id: (_as_read(numbers.get(cart_id)), cart_id))


def _folded(name):
    return " ".join(name.split()).casefold()


def _as_read(number):
    """Order "7" before "12", and carts whose number another site gave last."""
    # split so, every other part is a run of digits
    words = re.split(r"(\d+)", number or "")
    return number is None, [int(word) if place % 2 else word for place, word in enumerate(words)]


@dataclass
class CartAsOf:
    """One cart as its facts within the cut have it.

    ``row``, ``numbers`` and ``rechecks`` are unsaved. Of a cart that has gone to another
    site only what this site recorded is told: take facts through ``own``.
    """

    scope: Scope
    facts: CartFacts
    row: Cart
    numbers: list[CartNumber]
    rechecks: list[Recheck]
    is_here: bool

    @property
    def id(self):
        return self.facts.cart_id

    def own(self, facts):
        """Return those of the cart's facts that are this site's to tell, and in scope."""
        told = self.of_site(facts)
        return [fact for fact in told if self._is_recent(fact)] if self.scope.since else told

    def of_site(self, facts):
        """Return those of the cart's facts that are this site's to tell, however old."""
        here = self.scope.site.pk
        return [fact for fact in facts if self.is_here or fact.site_id == here]

    def _is_recent(self, fact):
        done_at = getattr(fact, "done_at", None)
        if done_at is None or fact._meta.model is Change or fact.pk in self.scope.kept:
            return True
        # what came late is new to whoever holds the bundle before
        return max(done_at, fact.received_at) >= self.scope.since

    def number_on(self, day) -> str:
        """Return the painted number on a day; before the first, the first."""
        begun = [span.number for span in self._own_numbers if span.from_day <= day]
        return begun[-1] if begun else self._own_numbers[0].number

    @cached_property
    def _own_numbers(self):
        return self.own(self.numbers)

    def named(self, at=None) -> dict:
        """Return the cells that name the cart, its number as of a moment."""
        if len(self._own_numbers) == 1:
            return {"cart_id": self._said_id, "cart": self._own_numbers[0].number}
        day = self.scope.day if at is None else self.scope.site.day(at)
        return {"cart_id": self._said_id, "cart": self.number_on(day)}

    @cached_property
    def _said_id(self):
        return str(self.id)

    @cached_property
    def went_at(self):
        """When the cart went to another site."""
        arrivals = [at for at, site_id in site_stays(self.facts) if site_id != self.scope.site.pk]
        return None if self.is_here else max(arrivals)


@dataclass
class Batch:
    """Some carts in order; ``told`` are the kinds of which anything is recorded of them."""

    scope: Scope
    carts: list[CartAsOf]
    told: set[type]
    answers: dict[Callable, list] = field(default_factory=dict)

    @property
    def ids(self):
        return [cart.id for cart in self.carts]

    def once(self, tell):
        """Return the list of what ``tell(batch)`` yields, asked once for all who want it."""
        if tell not in self.answers:
            self.answers[tell] = list(tell(self))
        return self.answers[tell]

    def carts_with(self, model) -> set:
        """Return the ids of the carts at which a fact of a model stands, whoever is to tell it."""
        if model not in self.told:
            return set()
        rows = self.scope.standing(model).filter(cart_id__in=self.ids).order_by()
        return set(rows.values_list("cart_id", flat=True))

    def changes(self, *what):
        """Return (cart, change) of the changes that act of these kinds, in order of time."""
        told = ((cart, one) for cart in self.carts for one in cart.own(cart.facts.changes))
        found = (pair for pair in told if pair[1].what in what)
        return sorted(found, key=lambda pair: (pair[1].done_at, pair[1].pk))

    def standing(self, model, **more):
        """Yield (cart, fact) for the standing facts of a model that are the site's to tell."""
        if model not in self.told:
            return
        by_id = {cart.id: cart for cart in self.carts}
        for fact in self.scope.standing(model).filter(cart_id__in=by_id, **more):
            if by_id[fact.cart_id].own([fact]):
                yield by_id[fact.cart_id], fact


def batches(scope: Scope):
    """Yield the site's carts batch by batch: memory does not grow with the fleet."""
    few = _grouped(_entries_a_cart(scope.cart_ids), BATCH_CARTS)
    for together, _entries in _grouped(few, READ_BATCHES):
        ids = [cart_id for some in together for cart_id in some]
        read = facts_of(ids, scope.cut)
        ground, told = ground_of(read.values(), scope.cut), told_of(ids, kinds_at_carts())
        for some in together:
            carts = [_cart(scope, read.pop(cart_id), ground) for cart_id in some]
            yield Batch(scope, carts, told)


@cache
def kinds_at_carts() -> list:
    """Return the models of facts about a cart."""
    return [Change, *(model for model in apps.get_models() if issubclass(model, CartFact))]


def _grouped(told, at_most):
    """Yield ([thing, ...], entries) of (thing, entries): few things where much was recorded."""
    group, entries = [], 0
    for thing, own in told:
        if group and (len(group) == at_most or entries + own > READ_ENTRIES):
            yield group, entries
            group, entries = [], 0
        group.append(thing)
        entries += own
    if group:
        yield group, entries


def _entries_a_cart(cart_ids):
    for start in range(0, len(cart_ids), PIECE_CARTS):
        some = cart_ids[start : start + PIECE_CARTS]
        rows = Entry.objects.filter(cart_id__in=some).order_by().values("cart_id")
        counts = dict(rows.annotate(told=Count("pk")).values_list("cart_id", "told"))
        yield from ((cart_id, counts.get(cart_id, 0)) for cart_id in some)


def _cart(scope, facts, ground):
    made = projected(facts, ground)
    is_here = made.cart.site_id == scope.site.pk
    return CartAsOf(scope, facts, made.cart, made.numbers, made.rechecks, is_here)
