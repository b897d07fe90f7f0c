from django import forms
from django.utils.translation import gettext_lazy as _

from fleet.board import TITLES, in_sections
from fleet.kinds import register


class BoardFilter(forms.Form):
    """Which part of the board is looked at; empty is all of it."""

    section = forms.ChoiceField(required=False, label=_("State"))
    kind = forms.ChoiceField(required=False, label=_("Kind of work"))
    area = forms.ChoiceField(required=False, label=_("Area"))
    bay = forms.CharField(required=False, max_length=40, label=_("Bay"))

    def __init__(self, data, areas):
        super().__init__(data)
        kinds = sorted((str(kind.title), kind.code) for kind in register.kinds.values())
        self.fields["section"].choices = [("", _("all")), *TITLES.items()]
        self.fields["kind"].choices = [("", _("all")), *((code, title) for title, code in kinds)]
        self.fields["area"].choices = [("", _("all")), *((area, area) for area in areas)]

    @property
    def chosen(self):
        """What was chosen and can be used; a spoilt address chooses nothing."""
        self.is_valid()
        return {name: value for name, value in self.cleaned_data.items() if value}

    def applied(self, rechecks):
        columns = {"kind": "kind_code", "area": "cart__area", "bay": "cart__bay__iexact"}
        for name, value in self.chosen.items():
            if name == "section":
                rechecks = in_sections(rechecks, [value])
            else:
                rechecks = rechecks.filter(**{columns[name]: value})
        return rechecks
