from django import forms
from django.utils.translation import gettext_lazy as _


class LookFilter(forms.Form):
    """Whose looks are listed; empty is everybody's."""

    person = forms.ChoiceField(required=False, label=_("Surveyor"))

    def __init__(self, data, people):
        super().__init__(data)
        named = ((str(person.pk), f"{person.name}, {person.email}") for person in people)
        self.fields["person"].choices = [("", _("all")), *named]

    def applied(self, looks):
        self.is_valid()
        person = self.cleaned_data.get("person")
        return looks.filter(person_id=person) if person else looks
