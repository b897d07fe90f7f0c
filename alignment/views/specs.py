from django.contrib import messages
from django.http import Http404
from django.shortcuts import redirect, render
from django.utils.translation import gettext_lazy as _
from django.views.decorators.http import require_safe

from alignment.actions import NoReason, save_spec
from alignment.forms_specs import SpecForm
from alignment.spec_page import known_codes, sections, trial
from alignment.specs import ALL_CARTS, specs_at
from fleet.kinds import Cut
from fleet.models import Cart
from shared.facts import OtherBody
from shared.models import Role
from shared.sent_before import say_sent_before
from shared.viewer import allowed

READERS = (Role.MANAGER, Role.MECHANIC, Role.SURVEYOR)


def _carts(request):
    carts = Cart.objects.visible_to(request.viewer).in_fleet().filter(site=request.site)
    return list(carts.only("pk", "tyre_mm"))


def _now(request):
    return Cut.known_now(request.viewer.at)


@allowed(*READERS)
@require_safe
def spec_list(request):
    found = sections(request.site, _carts(request), _now(request))
    return render(request, "alignment/spec_list.html", {"sections": found})


@allowed(Role.MANAGER)
def spec_usual(request):
    """Tell what holds for all carts of the site, where their kit's own sheet does not."""
    return _page(request, ALL_CARTS, _("Camber and toe: all carts of the site"))


@allowed(Role.MANAGER)
def spec_change(request, code):
    if code not in known_codes(request.site, _carts(request), _now(request)):
        raise Http404
    return _page(request, code, _("Camber and toe: kit %(code)s") % {"code": code})


def _page(request, code, heading):
    told = _told_before(request, code)
    form = SpecForm(request.site, code, told, request.POST or None)
    context = {"form": form, "heading": heading, "told": told}
    if request.method == "POST" and form.is_valid():
        if "ask" in request.POST:
            context["trial"] = _trial(request, form, code)
        elif _saved(request, form, code):
            return redirect("alignment-spec-list", request.site.slug)
    return render(request, "alignment/spec_form.html", context)


def _trial(request, form, code):
    """Return what the figures typed would do; nothing is recorded."""
    return trial(form.values(), code, _carts(request), request.site.units, _now(request))


def _told_before(request, code):
    """Return what stands, None where that is this very act, sent a second time."""
    told = specs_at(request.site, _now(request), {code}).get(code)
    return None if told is None or str(told.pk) == request.POST.get("act") else told


def _saved(request, form, code):
    """Record what was told; False when the form now says why it was not."""
    try:
        save_spec(request.site, code, form.values(), **form.who(request.viewer))
    except NoReason:
        form.add_error("note", _("Figures were told before: say why they change"))
    except OtherBody:
        say_sent_before(form)
    else:
        messages.success(request, _("Recorded. Sheets are judged by it from now on."))
    return form.is_valid()
