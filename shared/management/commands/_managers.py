"""Who stands behind a command: a manager, by address."""

from django.core.management.base import CommandError
from django.utils.translation import gettext as _

from shared.models import Membership, Role, Site


def site_called(slug):
    site = Site.objects.filter(slug=slug).first()
    if site is None:
        raise CommandError(_("There is no site %s.") % slug)
    return site


def manager(email, at, sites):
    """Return the person of that address if they are a manager today at one of the sites."""
    for site in sites:
        rows = Membership.objects.in_force(site.day(at)).filter(site=site, role=Role.MANAGER)
        found = rows.filter(person__email__iexact=email, person__is_active=True).first()
        if found:
            return found.person
    raise CommandError(_("%s is no manager there today.") % email)
