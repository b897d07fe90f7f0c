"""What the parts of a round of this app share."""

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID, uuid5

from django import forms
from django.utils.translation import gettext_lazy as _

from fleet.kinds import Part
from fleet.models import Cart
from shared.clock import FOREVER
from shared.standing import line_rows, lines_told

YES, NO = "yes", "no"
YES_OR_NO = {YES: 0, NO: 1}


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
        return self._by_fact(lines_told, fact_ids)

    def outcomes(self, facts):
        lines = self._by_fact(line_rows, [fact.pk for fact in facts])
        return {fact.pk: self.outcome(fact, lines[fact.pk]) for fact in facts}

    def _by_fact(self, read, fact_ids):
        by_fact = {fact_id: [] for fact_id in fact_ids}
        for line in read(self.line_model, fact_ids) if self.line_model else ():
            by_fact[line.fact_id].append(line)
        return by_fact

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
