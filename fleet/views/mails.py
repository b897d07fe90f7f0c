"""The mails of a site that could not be sent, for its manager."""

from django.contrib import messages
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_POST, require_safe

from fleet.actions.dead_mails import try_again
from fleet.unsent import MOST_SHOWN, dead_at, dead_count, doubtful_count, unsent_at
from shared.models import Role
from shared.viewer import allowed

ALL = "all"
# an id of the database fits
MOST_DIGITS = 19


@allowed(Role.MANAGER)
@require_safe
def mails(request):
    site = request.site
    shown = unsent_at(site)
    context = {
        "unsent": shown[:MOST_SHOWN],
        "count": dead_count(site),
        "doubtful": doubtful_count(site, request.viewer.at),
    }
    return render(request, "fleet/mails.html", context)


@allowed(Role.MANAGER)
@require_POST
def mails_again(request):
    """Try one mail again, as its row's key names it, or all."""
    count = sum(try_again(rows, at=request.viewer.at) for rows in _chosen(request))
    if count:
        said = ngettext(
            "%(n)s mail waits for the next sweep, within a minute or two.",
            "%(n)s mails wait for the next sweep, within a minute or two.",
            count,
        )
        messages.success(request, said % {"n": count})
    else:
        messages.warning(request, _("That mail waits already, or is over."))
    return redirect("mails", request.site.slug)


def _chosen(request):
    """Return the dead rows of the site that the form names; none for a name it does not know."""
    dead = dead_at(request.site)
    named = request.POST.get("mail", "")
    if named == ALL:
        return list(dead.values())
    kind, _dash, pk = named.partition("-")
    known = kind in dead and pk.isascii() and pk.isdigit() and len(pk) < MOST_DIGITS
    return [dead[kind].filter(pk=int(pk))] if known else []
