"""Mail to one person about their own account."""

from django.conf import settings
from django.contrib.auth.tokens import default_token_generator
from django.core.mail import send_mail
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils.encoding import force_bytes
from django.utils.http import urlsafe_base64_encode
from django.utils.translation import gettext as _


def password_link(person):
    """Return the address where a person sets a password: once, and for a few days."""
    uid = urlsafe_base64_encode(force_bytes(person.pk))
    token = default_token_generator.make_token(person)
    return settings.FLEET_URL + reverse("password-set", args=[uid, token])


def new_password(person):
    """Mail the link for a new password."""
    _mail(person, _("A new password"), "new_password", link=password_link(person))


def welcome(person, site):
    """Mail that a role was given, with the link for a first password where there is none."""
    link = None if person.has_usable_password() else password_link(person)
    subject = _("Cart lift records of %(site)s") % {"site": site}
    _mail(person, subject, "welcome", site=site, link=link, home=settings.FLEET_URL + "/")


def surveyor_link(person, site, token, **told):
    """Mail a surveyor their link, until when, by whom, and the key; its code goes another way."""
    link = settings.FLEET_URL + reverse("surveyor-link", args=[token])
    _mail(person, _invitation(site), "surveyor_link", site=site, link=link, **told)


def surveyor_role(person, site, *, until):
    """Mail a surveyor that the link they have lets them in at one more site."""
    _mail(person, _invitation(site), "surveyor_role", site=site, until=until)


def _invitation(site):
    return _("To survey the cart lift records of %(site)s") % {"site": site}


def _mail(person, subject, name, **context):
    days = settings.PASSWORD_RESET_TIMEOUT // (24 * 60 * 60)
    context = {"person": person, "days": days, **context}
    text = render_to_string(f"shared/mail/{name}.txt", context)
    send_mail(" ".join(subject.split()), text, None, [person.email])
