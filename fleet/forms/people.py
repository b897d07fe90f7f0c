"""A person added to a site, and the role that they have there from a day to a day."""

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from shared.dates import shown_day
from shared.forms import DayInput
from shared.models import Membership, Role

# what a person may be at a site beside the role
MARKS = ("may_release", "is_above")


class RoleForm(forms.Form):
    """A role from a day to a day. ``row`` is the person's present one, None without."""

    role = forms.ChoiceField(
        label=gettext_lazy("Role"), choices=Role, widget=forms.RadioSelect(), initial=Role.MECHANIC
    )
    from_day = forms.DateField(label=gettext_lazy("First day"), widget=DayInput())
    to_day = forms.DateField(
        label=gettext_lazy("Last day"),
        required=False,
        widget=DayInput(),
        help_text=gettext_lazy(
            "A surveyor's role always ends, within a year; the others may stay open."
        ),
    )
    may_release = forms.BooleanField(
        label=gettext_lazy("May hand tagged carts back"),
        required=False,
        help_text=gettext_lazy("A manager always may."),
    )
    is_above = forms.BooleanField(
        label=gettext_lazy("Stands above the manager"),
        required=False,
        help_text=gettext_lazy("Is told the same day when a cart is stopped, whatever the role."),
    )

    def __init__(self, *args, site, day, row=None, **kwargs):
        super().__init__(*args, **kwargs)
        self.site, self.day, self.row = site, day, row
        self.fields["from_day"].initial = day
        if row is not None:
            for name in ("role", "from_day", "to_day", *MARKS):
                self.fields[name].initial = getattr(row, name)

    def clean(self):
        said = self.cleaned_data
        self._refuse_days(said.get("from_day"), said.get("to_day"))
        if said.get("role") == Role.SURVEYOR:
            self._refuse_surveyor(said.get("from_day") or self.day, said.get("to_day"))
            for name in MARKS:
                if said.get(name):
                    self.add_error(name, _("A surveyor only reads."))
        if self._leaves_no_manager(said):
            raise forms.ValidationError(_("The site would have no manager. Name another first."))
        return said

    def _refuse_days(self, first, last):
        if first and last and last < first:
            self.add_error("to_day", _("The last day is before the first."))
        # a person has one role at a site: a later one would end today's at once
        if first and first > self.day and is_in_force(self.row, self.day):
            self.add_error("from_day", _("A role is in force until then: change it on that day."))

    def _refuse_surveyor(self, first, last):
        # a yearly survey; whoever comes again is invited again
        latest = year_after(max(first, self.day))
        if last is None:
            self.add_error("to_day", _("Say on which day the surveyor's role ends."))
        elif last > latest:
            shown = shown_day(latest, self.site.date_order)
            self.add_error("to_day", _("A surveyor's role lasts a year at most: to %s.") % shown)

    def _leaves_no_manager(self, said):
        if self.row is None or self.row.role != Role.MANAGER:
            return False
        stays = said.get("role") == Role.MANAGER and said.get("to_day") is None
        return not stays and is_only_manager(self.row, self.day)


class PersonForm(RoleForm):
    """Somebody new at the site, with their role."""

    field_order = ["email", "name", "role", "from_day", "to_day", *MARKS]
    email = forms.EmailField(label=gettext_lazy("Mail address"), max_length=254)
    name = forms.CharField(label=gettext_lazy("Name"), max_length=120)

    def clean_email(self):
        email = self.cleaned_data["email"]
        here = Membership.objects.filter(site=self.site, person__email__iexact=email).first()
        if here is not None:
            raise forms.ValidationError(_("%s is in the list already.") % here.person)
        return email


def year_after(day):
    """Return the same date a year later; after 29 February the 28th."""
    is_leap_day = (day.month, day.day) == (2, 29)
    return day.replace(year=day.year + 1, day=28 if is_leap_day else day.day)


def is_in_force(row, day):
    return row is not None and row.from_day <= day and (row.to_day is None or day <= row.to_day)


def is_only_manager(row, day):
    """Whether no other manager of the site stays without an end."""
    managers = Membership.objects.in_force(day).filter(site=row.site, role=Role.MANAGER)
    lasting = managers.filter(to_day=None, person__is_active=True)
    return not lasting.exclude(person=row.person).exists()
