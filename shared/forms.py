"""Forms of signing in, of passwords and of one's own account."""

import logging
from smtplib import SMTPException

from django import forms
from django.contrib.auth.forms import (
    AuthenticationForm,
    PasswordChangeForm,
    PasswordResetForm,
    SetPasswordForm,
)
from django.utils.translation import gettext_lazy as _

from shared import emails
from shared.models import Person, Role

log = logging.getLogger(__name__)
PASSWORD_HINT = _("At least 15 characters: a few words in a row are easy to keep in mind.")


class DayInput(forms.DateInput):
    """The browser's own calendar, which wants ISO days."""

    input_type = "date"

    def __init__(self):
        super().__init__(format="%Y-%m-%d")


class SignInForm(AuthenticationForm):
    """One answer for an unknown address, a wrong password and somebody locked out."""

    error_messages = {
        "invalid_login": _("This mail address and this password do not go together."),
        "inactive": _("This mail address and this password do not go together."),
    }

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["username"].label = _("Mail address")
        self.fields["username"].widget = forms.EmailInput(
            attrs={"autofocus": True, "autocomplete": "username"}
        )


class NewPasswordLinkForm(PasswordResetForm):
    """Mails a link to the address if it is somebody's, and never says whether it is."""

    email = forms.EmailField(
        label=_("Mail address"),
        max_length=254,
        widget=forms.EmailInput(attrs={"autocomplete": "email"}),
    )

    def get_users(self, email):
        # one who was added and has not yet set a first password may ask too
        known = Person.objects.filter(email__iexact=email, is_active=True)
        return [person for person in known if not comes_by_link(person)]

    def save(self, **options):
        for person in self.get_users(self.cleaned_data["email"]):
            try:
                emails.new_password(person)
            except (OSError, SMTPException):
                log.exception("A link for a new password could not be mailed")


def comes_by_link(person):
    """Whether the person only surveys and has no password: mail alone never lets them in."""
    roles = set(person.memberships.values_list("role", flat=True))
    return roles == {Role.SURVEYOR} and not person.has_usable_password()


class SurveyorCodeForm(forms.Form):
    code = forms.CharField(
        label=_("Code"),
        max_length=40,
        help_text=_("Ten letters and figures. Capitals, spaces and dashes do not matter."),
        widget=forms.TextInput(
            attrs={
                "autocomplete": "off",
                "autocapitalize": "characters",
                "spellcheck": "false",
                "autofocus": True,
            }
        ),
    )

    def __init__(self, *args, link, **kwargs):
        super().__init__(*args, **kwargs)
        self.link = link

    def clean_code(self):
        typed = self.cleaned_data["code"]
        if not self.link.fits(typed):
            raise forms.ValidationError(_("This code does not go with the link."))
        return typed


class PasswordSetForm(SetPasswordForm):
    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["new_password1"].help_text = PASSWORD_HINT


class OwnPasswordForm(PasswordChangeForm):
    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["new_password1"].help_text = PASSWORD_HINT


class AccountForm(forms.ModelForm):
    class Meta:
        model = Person
        fields = ["name", "home_site", "left_hand"]
        labels = {
            "name": _("Name"),
            "home_site": _("Home site"),
            "left_hand": _("What the thumb needs stands on the left"),
        }
        help_texts = {
            "home_site": _("The site shown first; its morning is when your daily mail comes."),
        }

    def __init__(self, viewer, *args, **kwargs):
        super().__init__(*args, instance=viewer.person, **kwargs)
        home = self.fields["home_site"]
        home.queryset = home.queryset.filter(pk__in=viewer.site_ids)
        home.required = bool(viewer.site_ids)
        if viewer.by_link:
            # the manager's list of looks names them
            del self.fields["name"]
