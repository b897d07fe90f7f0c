"""A rule's limits as the manager changes them, in the units of the site."""

from dataclasses import replace
from decimal import Decimal

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fleet.due import Limits
from fleet.rule_words import RANK_WORDS, due_words, leeway_words, step_words, stop_words
from fleet.rulebook import FROM_ANCHOR, FROM_DUE, OPENS_AT_ONCE, RANKS, Leeway, looser_than
from shared.units import (
    LONGEST_QUANTITY_CHARS,
    SI_UNITS,
    UNITS_OF,
    Unreadable,
    convert,
    printed,
    read_quantity,
)

MOST_DAYS = 3650
MOST_SI = {"hours": Decimal(100_000), "distance": Decimal(1_000_000_000)}
PARTS = {"hours": "hours", "metres": "distance"}
USUAL, AT_ONCE, AFTER = "usual", OPENS_AT_ONCE, "after"
# who binds a site: these it may only be stricter than
OUTRANKING = RANKS[: RANKS.index("site")]


class AmountField(forms.CharField):
    """Hours or a distance in the site's unit or a unit typed with it; cleans to SI, or None.

    An amount left as it was shown stays exactly what it was.
    """

    def __init__(self, quantity, units, before, **kwargs):
        self.quantity, self.unit, self.before = quantity, UNITS_OF[units][quantity], before
        self.shown = "" if before is None else _plain(before, quantity, self.unit)
        super().__init__(
            max_length=LONGEST_QUANTITY_CHARS, required=False, initial=self.shown, **kwargs
        )
        self.widget.attrs["inputmode"] = "decimal"

    def clean(self, value):
        text = super().clean(value)
        if not text or text == self.shown:
            return self.before if text else None
        try:
            si = read_quantity(text, self.quantity, self.unit).si
        except Unreadable as unreadable:
            raise forms.ValidationError(_(unreadable.plain) % unreadable.holes) from unreadable
        if not 0 <= si <= MOST_SI[self.quantity]:
            raise forms.ValidationError(_("“%s” cannot be right here.") % text)
        return si


def _plain(si, quantity, unit):
    figure = convert(si, SI_UNITS[quantity], unit)
    return f"{round(figure, 2).normalize():f}"


class Amounts:
    """Hours and a distance that stand below a heading, which their mistakes name too."""

    parts = tuple(PARTS)

    def __init__(self, form, name, heading):
        self.form, self.name, self.heading = form, name, heading

    def add(self, hours, metres, units):
        distance = _("Distance, %s") % printed(UNITS_OF[units]["distance"])
        self.put("hours", AmountField("hours", units, hours, label=_("Hours")))
        self.put("metres", AmountField("distance", units, metres, label=distance))
        return self

    def put(self, part, field):
        field.named = f"{self.heading}: {field.label}"
        self.form.fields[f"{self.name}_{part}"] = field

    def said(self):
        return tuple(self.form.cleaned_data.get(f"{self.name}_{part}") for part in self.parts)

    @property
    def has_errors(self):
        return any(bound.errors for bound in self)

    def __iter__(self):
        return (self.form[f"{self.name}_{part}"] for part in self.parts)


class Group(Amounts):
    """The fields of one limit: hours, distance and days."""

    parts = (*PARTS, "days")

    def add_limits(self, limits, units):
        self.add(getattr(limits, "hours", None), getattr(limits, "metres", None), units)
        days = forms.IntegerField(
            label=_("Days"),
            required=False,
            min_value=0,
            max_value=MOST_DAYS,
            initial=getattr(limits, "days", None),
        )
        self.put("days", days)
        return self

    def limits(self):
        hours, metres, days = self.said()
        return Limits(days, hours, metres)


class ReasonForm(forms.Form):
    reason = forms.CharField(
        label=gettext_lazy("Why"),
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text=gettext_lazy("It stands in the journal with your name."),
    )


class RuleForm(ReasonForm):
    """The next version of one rule; ``made`` is the Rule once the form is valid."""

    field_order = ["rank", "source", "reason"]
    opens = forms.ChoiceField(
        label=gettext_lazy("Opens"),
        widget=forms.RadioSelect,
        choices=[
            (USUAL, gettext_lazy("at 80 % of the limit or 14 days before, the earlier")),
            (AT_ONCE, gettext_lazy("at once")),
            (AFTER, gettext_lazy("after this much:")),
        ],
    )
    leeway_percent = forms.IntegerField(
        label=gettext_lazy("Or leeway in percent of the limit"),
        required=False,
        min_value=0,
        max_value=100,
    )
    leeway_max_days = forms.IntegerField(
        label=gettext_lazy("Of that at most, days"),
        required=False,
        min_value=0,
        max_value=MOST_DAYS,
    )
    stop_from = forms.ChoiceField(
        label=gettext_lazy("The stop counts from"),
        widget=forms.RadioSelect,
        choices=[(FROM_ANCHOR, gettext_lazy("the start")), (FROM_DUE, gettext_lazy("due"))],
    )
    rank = forms.ChoiceField(
        label=gettext_lazy("Asked for by"),
        widget=forms.RadioSelect,
        choices=[(rank, RANK_WORDS[rank]) for rank in RANKS if rank != "default"],
    )
    source = forms.CharField(
        label=gettext_lazy("Source"),
        max_length=300,
        help_text=gettext_lazy("The instructions and their edition, the policy, or whose word."),
    )

    def __init__(self, *args, rule, book, units, **kwargs):
        super().__init__(*args, **kwargs)
        self.rule, self.book, self.units = rule, book, units
        self.steps = [
            Group(self, f"step{place}", self._step(place)).add_limits(limits, units)
            for place, limits in enumerate(rule.rungs)
        ]
        opens = rule.opens if isinstance(rule.opens, Limits) else None
        self.opening = Group(self, "opening", _("After this much")).add_limits(opens, units)
        self.leeway = Group(self, "leeway", _("Leeway")).add_limits(rule.leeway, units)
        self.stop = Group(self, "stop", _("Stop: the cart must not run after"))
        self.stop.add_limits(rule.stop, units)
        self._begin(opens)

    def _step(self, place):
        if place >= len(self.rule.ladder):
            return _("Due again every")
        if len(self.rule.rungs) == 1:
            return _("Due after")
        return _("Due, %s") % step_words(place)

    def _begin(self, opens):
        self.initial |= {
            "opens": AFTER if opens else self.rule.opens or USUAL,
            "leeway_percent": self.rule.leeway.percent,
            "leeway_max_days": self.rule.leeway.max_days,
            "stop_from": self.rule.stop_from,
            "rank": "site" if self.rule.rank == "default" else self.rule.rank,
            "source": "" if self.rule.rank == "default" else self.rule.source,
        }

    def clean(self):
        said = self.cleaned_data
        for step in self.steps:
            if not step.limits() and not step.has_errors:
                self.add_error(f"{step.name}_days", _("Give hours, a distance or days."))
        if said.get("opens") == AFTER and not self.opening.limits():
            self.add_error("opens", _("Say after how much."))
        if self.rule.settles and said.get("opens") != AFTER:
            self.add_error("opens", _("This work settles in use: say after how much it opens."))
        self._refuse_two_leeways(said)
        self._refuse_early_stop(said)
        if not self.errors:
            self.made = self._make(said)
            self._refuse_looser(said["rank"])
        return said

    def _refuse_two_leeways(self, said):
        if said.get("leeway_percent") is None:
            if said.get("leeway_max_days") is not None:
                self.add_error("leeway_max_days", _("This cuts a percentage off: give one."))
        elif self.leeway.limits():
            self.add_error("leeway_percent", _("Give a percentage or amounts, not both."))

    def _refuse_early_stop(self, said):
        stop = self.stop.limits()
        for part in ("days", "hours", "metres"):
            limits = [getattr(step.limits(), part) for step in self.steps]
            limit = max((one for one in limits if one is not None), default=None)
            at = getattr(stop, part)
            if said.get("stop_from") == FROM_ANCHOR and None not in (at, limit) and at < limit:
                self.add_error(f"stop_{part}", _("The cart would stop before the work is due."))

    def _make(self, said):
        steps = tuple(step.limits() for step in self.steps)
        has_every = self.rule.every is not None
        return replace(
            self.rule,
            ladder=steps[:-1] if has_every else steps,
            every=steps[-1] if has_every else None,
            opens={USUAL: None, AFTER: self.opening.limits()}.get(said["opens"], AT_ONCE),
            leeway=self._leeway(said),
            stop=self.stop.limits() or None,
            stop_from=said["stop_from"],
            rank=said["rank"],
            source=said["source"],
        )

    def _leeway(self, said):
        amounts = self.leeway.limits()
        share = said["leeway_percent"], said["leeway_max_days"]
        return Leeway(amounts.days, amounts.hours, amounts.metres, *share)

    def _refuse_looser(self, rank):
        """Refuse a site's rule that asks for less than one that binds the site."""
        if rank != "site":
            return
        for other in self.book.by_code[self.rule.code]:
            binds = other.rank in OUTRANKING and _same_kits(other, self.made)
            if binds and looser_than(self.made, other):
                self.add_error(None, self._less_than(other))

    def _less_than(self, other):
        asked = _("This asks for less than %(who)s: %(due)s; leeway: %(leeway)s; %(stop)s.")
        return asked % {
            "who": f"{RANK_WORDS[other.rank]} ({other.source})",
            "due": due_words(other, self.units),
            "leeway": leeway_words(other, self.units),
            "stop": stop_words(other, self.units),
        }


def _same_kits(one, other):
    return not one.kits or not other.kits or bool(set(one.kits) & set(other.kits))
