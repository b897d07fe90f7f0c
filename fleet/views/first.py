"""Beginning an installation in the browser: open only while nobody is known."""

from django.contrib import messages
from django.contrib.auth import login
from django.http import Http404
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _

from fleet.actions.first import AlreadyBegun, begin
from fleet.forms.site import FirstForm
from shared.models import Person


def first_site(request):
    if Person.objects.exists():
        raise Http404
    form = FirstForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        return _begun(request, form)
    return render(request, "fleet/site_first.html", {"form": form})


def _begun(request, form):
    said = {name: form.cleaned_data[name] for name in ("name", "email", "password")}
    try:
        site, manager = begin(form.site_values(), **said, at=request.viewer.at)
    except AlreadyBegun as error:
        raise Http404 from error
    login(request, manager)
    messages.success(request, _("%(site)s has begun. Bring in the carts next.") % {"site": site})
    return redirect("site-home", site.slug)
