"""What a book says beside its rules: the use of each class, and the limits of a lay-up."""

from dataclasses import replace

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fleet.forms.rules import MOST_DAYS, Amounts, ReasonForm
from fleet.layup import LayUpLimits
from fleet.models import UseClass
from fleet.reading_doubts import MOST_A_DAY
from fleet.rulebook import Average


class BookForm(ReasonForm):
    """The averages and lay-up limits of the next version; ``made`` is its Book once valid."""

    longest_days = forms.IntegerField(
        label=gettext_lazy("A lay-up pauses calendars for at most, days"),
        min_value=0,
        max_value=MOST_DAYS,
    )

    def __init__(self, *args, book, units, **kwargs):
        super().__init__(*args, **kwargs)
        self.book = book
        self.initial["longest_days"] = book.lay_up.longest_days
        self.averages = {value: self._average(value, units) for value in UseClass.values}
        limits = book.lay_up
        self.void = Amounts(self, "void", _("A lay-up is void with more use than"))
        self.void.add(limits.void_hours, limits.void_metres, units)

    def _average(self, use_class, units):
        known = self.book.averages.get(use_class)
        figures = Amounts(self, use_class, UseClass(use_class).label)
        hours, metres = (known.hours_per_day, known.metres_per_day) if known else (None, None)
        return figures.add(hours, metres, units)

    def clean(self):
        for use_class, figures in self.averages.items():
            if not figures.has_errors:
                self._check_average(use_class, *figures.said())
        if None in self.void.said() and not self.void.has_errors:
            self.add_error("void_hours", _("Give both hours and a distance."))
        if not self.errors:
            self.made = self._make()
            if self.made == self.book:
                self.add_error(None, _("Nothing is changed here."))
        return self.cleaned_data

    def _check_average(self, use_class, hours, metres):
        if hours is None and metres is None and use_class not in self.book.averages:
            return
        if not hours or not metres:
            both = _("Give both hours and a distance, above zero.")
            self.add_error(f"{use_class}_hours", both)
        elif hours > MOST_A_DAY["hours"]:
            self.add_error(f"{use_class}_hours", _("A day has no more than 24 hours."))
        elif metres > MOST_A_DAY["distance"]:
            self.add_error(f"{use_class}_metres", _("No cart runs that far in a day."))

    def _make(self):
        said = {name: figures.said() for name, figures in self.averages.items()}
        averages = {name: Average(*both) for name, both in said.items() if all(both)}
        lay_up = LayUpLimits(self.cleaned_data["longest_days"], *self.void.said())
        return replace(self.book, averages={**self.book.averages, **averages}, lay_up=lay_up)
