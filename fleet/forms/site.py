"""What a site says of itself, and the first site with its first manager."""

from zoneinfo import available_timezones

from django import forms
from django.contrib.auth.password_validation import validate_password
from django.utils.text import slugify
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fleet.sheet_dates import read_day
from fleet.sheet_words import WrongCell
from fleet.start_day import too_far
from shared.dates import shown_day
from shared.forms import PASSWORD_HINT, DayInput
from shared.models import Person, Site

# first words of addresses that are no site's
TAKEN_SLUGS = frozenset({"account", "calendar", "first", "media", "p", "password", "s", "static"})
TAKEN_SLUGS |= {"health", "metrics", "sign-in", "sign-out"}
MOST_MINUTES_A_DAY = 100_000
LONGEST_SLUG_CHARS = 40
LONGEST_CLOSURES_LINES = 60
WEEK = [
    ("1", gettext_lazy("Monday")),
    ("2", gettext_lazy("Tuesday")),
    ("3", gettext_lazy("Wednesday")),
    ("4", gettext_lazy("Thursday")),
    ("5", gettext_lazy("Friday")),
    ("6", gettext_lazy("Saturday")),
    ("7", gettext_lazy("Sunday")),
]


def free_slug(name):
    """Return the address of a new site: its name in plain letters, numbered where taken."""
    stem = slugify(name)[: LONGEST_SLUG_CHARS - 4].strip("-") or "site"
    taken = set(Site.objects.filter(slug__startswith=stem).values_list("slug", flat=True))
    taken |= TAKEN_SLUGS
    numbered = (f"{stem}-{number}" for number in range(2, len(taken) + 3))
    return next(slug for slug in (stem, *numbered) if slug not in taken)


def zone_choices():
    zones = sorted(zone for zone in available_timezones() if "/" in zone)
    return [("UTC", "UTC"), *((zone, zone.replace("_", " ")) for zone in zones)]


def read_closures(text, order):
    """Return [first, last] of each line's days, as ISO text: a day, or "DAY to DAY".

    Raises ValidationError naming the line.
    """
    lines = [line.strip() for line in text.splitlines() if line.strip()]
    if len(lines) > LONGEST_CLOSURES_LINES:
        raise forms.ValidationError(_("At most %d lines.") % LONGEST_CLOSURES_LINES)
    return [_closure(line, order) for line in lines]


def _closure(line, order):
    first, _to, last = line.partition(" to ")
    try:
        days = [read_day(first, order), read_day(last or first, order)]
    except WrongCell as error:
        said = {"line": line, "accepted": error.accepted.said(_)}
        raise forms.ValidationError(_("“%(line)s”: write %(accepted)s") % said) from error
    if days[1] < days[0]:
        raise forms.ValidationError(_("“%s” ends before it begins.") % line)
    return [day.isoformat() for day in days]


class SiteForm(forms.ModelForm):
    """Everything that a manager may set of a site but its address, which links hold."""

    zone = forms.ChoiceField(label=gettext_lazy("Time zone"), choices=zone_choices)
    working_days = forms.MultipleChoiceField(
        label=gettext_lazy("Working days"),
        choices=WEEK,
        widget=forms.CheckboxSelectMultiple(attrs={"class": "two-columns"}),
    )
    closures = forms.CharField(
        label=gettext_lazy("Days closed"),
        required=False,
        widget=forms.Textarea(attrs={"rows": 4}),
        help_text=gettext_lazy("One a line: a day, or two days with “to” between them."),
    )
    digest_hour = forms.IntegerField(
        label=gettext_lazy("Hour of the daily mail"),
        min_value=0,
        max_value=23,
        help_text=gettext_lazy("0 to 23, by the site's clock."),
    )
    mechanic_minutes_a_day = forms.IntegerField(
        label=gettext_lazy("Mechanic minutes a day"),
        min_value=0,
        max_value=MOST_MINUTES_A_DAY,
        help_text=gettext_lazy("For work on lifted carts, all mechanics together."),
    )

    class Meta:
        model = Site
        fields = [
            "name",
            "zone",
            "units",
            "date_order",
            "working_days",
            "closures",
            "digest_hour",
            "mechanic_minutes_a_day",
            "start_day",
        ]
        labels = {
            "name": gettext_lazy("Name"),
            "units": gettext_lazy("Units"),
            "date_order": gettext_lazy("Dates are written"),
            "start_day": gettext_lazy("Start day"),
        }
        help_texts = {
            "start_day": gettext_lazy("Lifts fitted before it run no clocks backwards."),
        }
        widgets = {"start_day": DayInput()}

    def __init__(self, *args, today, **kwargs):
        super().__init__(*args, **kwargs)
        self.today = today
        self.initial["working_days"] = list(self.instance.working_days)
        self.initial["closures"] = "\n".join(map(self._shown, self.instance.closures))

    def _shown(self, closure):
        days = [
            shown_day(read_day(day, "ymd"), self.instance.date_order)
            for day in dict.fromkeys(closure)
        ]
        return " to ".join(days)

    def clean_working_days(self):
        return "".join(sorted(self.cleaned_data["working_days"]))

    def clean_closures(self):
        order = self.cleaned_data.get("date_order") or self.instance.date_order
        return read_closures(self.cleaned_data["closures"], order)

    def clean_start_day(self):
        day = self.cleaned_data["start_day"]
        if said := too_far(day, self.instance, self.today):
            raise forms.ValidationError(said)
        return day

    def changes(self):
        """Return what differs from the site as it is."""
        said = self.cleaned_data
        return {name: said[name] for name in said if said[name] != getattr(self.instance, name)}

    def _post_clean(self):
        """Leave the instance as it is: the action changes it."""


class FirstForm(forms.Form):
    """The first site and its first manager."""

    site_name = forms.CharField(label=gettext_lazy("Name of the site"), max_length=120)
    zone = forms.ChoiceField(label=gettext_lazy("Time zone"), choices=zone_choices)
    units = forms.ChoiceField(label=gettext_lazy("Units"), choices=Site.Units)
    date_order = forms.ChoiceField(
        label=gettext_lazy("Dates are written"),
        choices=Site.DateOrder,
        initial=Site.DateOrder.MDY,
    )
    name = forms.CharField(label=gettext_lazy("Your name"), max_length=120)
    email = forms.EmailField(label=gettext_lazy("Your mail address"), max_length=254)
    password = forms.CharField(
        label=gettext_lazy("Password"),
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
        help_text=PASSWORD_HINT,
    )
    password_again = forms.CharField(
        label=gettext_lazy("The same password again"),
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )

    def clean_password(self):
        person = Person(name=self.cleaned_data.get("name", ""))
        validate_password(self.cleaned_data["password"], person)
        return self.cleaned_data["password"]

    def clean(self):
        said = self.cleaned_data
        if "password" in said and said["password"] != said.get("password_again"):
            self.add_error("password_again", _("The two passwords differ."))
        return said

    def site_values(self):
        said = self.cleaned_data
        values = {name: said[name] for name in ("zone", "units", "date_order")}
        return {"name": said["site_name"], "slug": free_slug(said["site_name"]), **values}
