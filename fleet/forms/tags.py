"""Keeping a cart out of use, and handing it back."""

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from shared.models import Person, new_id

SOMEBODY_ELSE = "somebody else"


class TagForm(forms.Form):
    id = forms.UUIDField(widget=forms.HiddenInput, initial=new_id)
    reason = forms.CharField(
        label=gettext_lazy("What is wrong"), widget=forms.Textarea(attrs={"rows": 3})
    )
    is_critical = forms.TypedChoiceField(
        label=gettext_lazy("Could it make somebody lose a wheel, the steering or the brakes?"),
        choices=[("yes", gettext_lazy("Yes")), ("no", gettext_lazy("No"))],
        coerce=lambda value: value == "yes",
        widget=forms.RadioSelect,
        help_text=gettext_lazy(
            "If in doubt: yes. Then one who did not do the repair hands it back."
        ),
    )
    key_place = forms.CharField(
        label=gettext_lazy("Where the key is now"), max_length=120, required=False
    )
    hangs_at = forms.CharField(
        label=gettext_lazy("Where on the cart the tag hangs"),
        max_length=120,
        required=False,
        help_text=gettext_lazy("Tied on, as near the key and the wheel as can be."),
    )
    photo = forms.FileField(
        label=gettext_lazy("Photo"),
        required=False,
        widget=forms.FileInput(attrs={"accept": "image/*", "capture": "environment"}),
    )


class HandBackForm(forms.Form):
    """What was done at a tagged cart before it goes back to use.

    One who repaired what is critical may hand it back too, but is asked first and
    stands in the record as having done both.
    """

    id = forms.UUIDField(widget=forms.HiddenInput, initial=new_id)
    done = forms.CharField(
        label=gettext_lazy("What was done"), widget=forms.Textarea(attrs={"rows": 3})
    )
    repaired_by = forms.ChoiceField(label=gettext_lazy("Who did it"))
    drive_note = forms.CharField(
        label=gettext_lazy("The drive after it, and what was measured again"),
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
    )
    same_person = forms.BooleanField(
        label=gettext_lazy(
            "I did the repair, and nobody else can look at it: I hand it back myself"
        ),
        required=False,
        help_text=gettext_lazy("The record will say “released by the same person”."),
    )

    def __init__(self, *args, tag, site, by, **kwargs):
        super().__init__(*args, **kwargs)
        self.tag, self.by = tag, by
        self.asks_same_person = False
        people = Person.objects.filter(memberships__site=site).order_by("name")
        self.people = {str(person.pk): person for person in people}
        self.fields["repaired_by"].choices = [
            ("", ""),
            *((key, person.name) for key, person in self.people.items()),
            (SOMEBODY_ELSE, _("somebody who is not in this list")),
        ]
        self.fields["drive_note"].required = tag.is_critical

    def clean_repaired_by(self):
        """Return the person, None for somebody who is not known here."""
        return self.people.get(self.cleaned_data["repaired_by"])

    def clean(self):
        said = self.cleaned_data
        is_same = said.get("repaired_by") == self.by
        self.asks_same_person = is_same and self.tag.is_critical
        if self.asks_same_person and not said.get("same_person"):
            self.add_error(
                "same_person", _("This was critical, and you did the repair. Let another look.")
            )
        return said
