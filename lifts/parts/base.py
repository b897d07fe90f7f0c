"""What the parts of a round of this app share."""

from dataclasses import dataclass
from datetime import datetime
from functools import lru_cache
from operator import attrgetter
from uuid import UUID, uuid5

from django import forms
from django.utils.translation import get_language
from django.utils.translation import gettext_lazy as _

from fleet.kinds import Part
from fleet.models import Cart
from shared.clock import FOREVER
from shared.standing import line_rows, lines_told, row_of

YES, NO = "yes", "no"
YES_OR_NO = {YES: 0, NO: 1}
# how many parts of rounds unlike each other are kept in mind: some kB each
ROUNDS_ALIKE = 500


@dataclass(frozen=True)
class Elsewhere:
    """A visit that was told of the wrong cart, as one at the right cart; ``corrects`` it."""

    cart: Cart
    at: datetime
    corrects: UUID
    known_by = FOREVER

    @property
    def site(self):
        return self.cart.site

    def once(self, ask):
        return ask(self)


class PartForm(forms.Form):
    """One part of a visit. With "not done this visit" ticked, nothing else of it counts."""

    cautions: tuple[str, ...] = ()
    # the browser must not ask for what "not done" leaves out
    use_required_attribute = False

    not_done = forms.BooleanField(required=False, label=_("Not done this visit"))

    def __init__(self, visit, data=None, files=None, prefix=None):
        super().__init__(data, files, prefix=prefix)
        self.visit = visit
        self.build()

    def build(self):
        """Add the fields that depend on the visit."""

    @property
    def is_left_out(self):
        return bool(self.cleaned_data.get("not_done"))

    def clean(self):
        cleaned = super().clean()
        if cleaned.get("not_done"):
            self._errors.clear()
        return cleaned


class LiftPart(Part):
    """A part of a round at a lifted cart. ``pieces`` are the pieces of work it takes down."""

    pieces: frozenset[str] = frozenset()
    line_model = None

    def facts(self, round_fact, form, fact_fields):
        if form.is_left_out:
            return []
        # from the round's id, so that a repeat is the same fact
        fields = {**fact_fields, "id": uuid5(round_fact.pk, self.code), "round": round_fact}
        values, lines = self.read(form)
        return [(self.model(**{**fields, **values}), lines)]

    def read(self, form):
        """Return the fact's own values and its unsaved lines from a valid form."""
        raise TypeError(f"{type(self).__name__} must say what it reads from its form")

    def lines_of(self, fact_ids):
        by_fact = {fact_id: [] for fact_id in fact_ids}
        if self.line_model is None:
            return by_fact
        for line in lines_told(self.line_model, fact_ids):
            by_fact[line.fact_id].append(line)
        return by_fact

    def outcomes(self, facts):
        if not self.model.judged_by:
            return super().outcomes(facts)
        lines = {fact.pk: [] for fact in facts}
        columns = ("fact_id", *self.line_model.judged_by)
        for fact_id, *values in line_rows(self.line_model, list(lines), columns):
            lines[fact_id].append(tuple(values))
        language, said = get_language(), attrgetter(*self.model.judged_by)
        return {
            fact.pk: _judged(self, language, _kept(said(fact)), tuple(lines[fact.pk]))
            for fact in facts
        }

    def rows(self, facts):
        facts = list(facts)
        lines = self.lines_of([fact.pk for fact in facts])
        for fact in facts:
            for item, found, detail in self.said(fact, lines[fact.pk]):
                yield self.row(fact, item, found, detail)

    def row(self, fact, item, found, detail):
        return {
            "round": str(fact.round_id),
            "part": self.code,
            "item": item,
            "found": found,
            "detail": detail,
        }

    def said(self, fact, lines):
        """Yield (item, found, detail) for each finding, as it was recorded."""
        return ()


@lru_cache(ROUNDS_ALIKE)
def _judged(part, language, said, lines):
    """Return what a part amounts to, its reasons in a language: most rounds are like others."""
    fact = row_of(part.model, part.model.judged_by)._make(said)
    line = row_of(part.line_model, part.line_model.judged_by)
    return part.outcome(fact, [line._make(values) for values in lines])


def _kept(values):
    return tuple(tuple(one) if isinstance(one, list) else one for one in values)


def yes_or_no(value):
    return YES if value else NO


def numbered(lines):
    """Give lines their places, counted from 1."""
    for place, line in enumerate(lines, start=1):
        line.place = place
    return lines


def told(**facts):
    """Say in one text the named values that are not empty: "action tightened; pin renewed"."""
    kept = ((name.replace("_", " "), value) for name, value in facts.items() if value)
    return "; ".join(name if value is True else f"{name} {value}" for name, value in kept)
