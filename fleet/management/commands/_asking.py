"""What the commands that ask about the past share: the two options, and how they are read."""

from django.core.management.base import CommandError
from django.utils.translation import gettext as _

from fleet.moments import NotAMoment, cut_of, moment_of
from shared.models import Site

TIMES = ("happened_by", "known_by")
EXAMPLE = "a day (its end at the site) or a moment, such as 2026-03-31 or 2026-03-31T14:05-04:00"


def add_two_times(parser):
    parser.add_argument("--happened-by", metavar="MOMENT", help=f"what had happened by {EXAMPLE}")
    parser.add_argument("--known-by", metavar="MOMENT", help=f"what had arrived by {EXAMPLE}")


def site_named(slug):
    site = Site.objects.filter(slug=slug).first()
    if site is None:
        raise CommandError(_("There is no site %(slug)s.") % {"slug": slug})
    return site


def cut_asked(site, options, *, at):
    """Return the Cut of the options."""
    happened_by, known_by = (_moment(name, options, site, at) for name in TIMES)
    return cut_of(happened_by, known_by, at=at)


def _moment(name, options, site, at):
    try:
        return options[name] and moment_of(options[name], site, at=at)
    except NotAMoment as error:
        raise CommandError(f"--{name.replace('_', '-')}: {error}") from error
