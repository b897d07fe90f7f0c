"""A site's own settings."""

from django.contrib import messages
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _

from fleet.actions.sites import change_site
from fleet.forms.site import SiteForm
from shared.models import Role
from shared.viewer import allowed


@allowed(Role.MANAGER)
def site_change(request):
    today = request.site.day(request.viewer.at)
    form = SiteForm(request.POST or None, instance=request.site, today=today)
    if request.method == "POST" and form.is_valid():
        values = form.changes()
        if values:
            change_site(request.site, values, by=request.viewer.person, at=request.viewer.at)
        messages.success(request, _("Kept."))
        return redirect("site-change", request.site.slug)
    return render(request, "fleet/site_change.html", {"form": form})
