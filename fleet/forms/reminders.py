"""What a person wants to be mailed, a tick for each stage, and their quiet hours."""

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fleet.reminding import TOLD_AT_ONCE, Stage

WORDS = {
    Stage.OPEN: gettext_lazy("Work that may be done now"),
    Stage.DUE: gettext_lazy("Work that fell due"),
    Stage.LATE: gettext_lazy("Work that went late"),
    Stage.STOPPED: gettext_lazy("A check so late that the cart is stopped"),
    Stage.ABOVE: gettext_lazy("A cart that was stopped, told to whoever stands above"),
    Stage.TAGGED: gettext_lazy("A tag put on a cart"),
    Stage.MOVING: gettext_lazy("A stopped cart whose meter still rises"),
    Stage.RUNS_ON: gettext_lazy("A cart stopped for a week whose meter still rises"),
    Stage.TWO_ROUNDS: gettext_lazy("Two rounds at one cart at once"),
    Stage.DOUBTED: gettext_lazy("A tool that is not to be believed any more"),
}
HOURS = [(hour, f"{hour:02d}:00") for hour in range(24)]


def field_of(stage):
    return stage.name.lower()


class HourField(forms.TypedChoiceField):
    """A full hour of the home site's clock."""

    def __init__(self, label, **kwargs):
        super().__init__(label=label, choices=HOURS, coerce=int, **kwargs)


class ReminderForm(forms.Form):
    """``told`` are the stages that the person's roles are told of, ``choice`` the present one."""

    def __init__(self, told, choice, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.told = told
        for one in told:
            self.fields[field_of(one.stage)] = _tick(one)
        self.fields["quiet_from"] = HourField(gettext_lazy("Quiet from"), initial=choice.quiet_from)
        self.fields["quiet_until"] = HourField(
            gettext_lazy("Quiet until"),
            initial=choice.quiet_until,
            help_text=gettext_lazy("The same hour twice means no quiet hours."),
        )

    @property
    def without(self):
        """The stages whose ticks were taken out."""
        said = self.cleaned_data
        return [one.stage.value for one in self.told if not said[field_of(one.stage)]]


def _tick(told):
    return forms.BooleanField(
        label=WORDS[told.stage],
        required=False,
        initial=told.is_wanted or not told.is_free,
        disabled=not told.is_free,
        help_text=" ".join(filter(None, [_when(told), _why_bound(told)])),
    )


def _when(told):
    return _("Comes at once.") if told.stage in TOLD_AT_ONCE else ""


def _why_bound(told):
    if not told.bound:
        return ""
    sites = ", ".join(row.site.name for row in told.bound)
    if told.is_free:
        words = _("At %(sites)s it comes all the same: its manager has to hear of it.")
    else:
        words = _("Cannot be left out: whoever manages %(sites)s has to hear of it.")
    return words % {"sites": sites}
