from django.contrib import messages
from django.http import Http404
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext_lazy as _
from django.views.decorators.http import require_safe

from fleet.models import Cart
from fleet.standing import EVERYTHING
from lifts.actions.speed_classes import (
    ClassGone,
    ClassKnown,
    add_class,
    change_class,
    claim_class,
    drop_class,
    set_usual,
)
from lifts.classes import TABLE, claims_at, limit_said, table_at
from lifts.forms_speed import ClaimForm, ClassForm, UsualForm
from lifts.last_runs import listed_runs
from lifts.speed_classes import limits_of
from shared.facts import OtherBody
from shared.models import Change, Role
from shared.sent_before import say_sent_before
from shared.viewer import allowed

READERS = (Role.MANAGER, Role.MECHANIC, Role.SURVEYOR)
CHANGES_SHOWN = 10


@allowed(*READERS)
@require_safe
def speed_class_list(request):
    table = table_at(request.site.pk, EVERYTHING)
    changes = Change.objects.filter(site=request.site, what=TABLE).select_related("by")
    context = {
        "table": table,
        "usual": table.named(table.usual),
        "classes": [(one, limit_said(limits_of(one)), _also(one)) for one in table.classes],
        "changes": changes.order_by("-received_at", "-id")[:CHANGES_SHOWN],
        "runs": listed_runs(request.viewer, request.site),
    }
    return render(request, "lifts/speed_class_list.html", context)


def _also(one):
    """Return in words what a class asks beside its limit, as its source prints it."""
    bounds = [
        (_("faster than %s"), _figures(one, "over", "mph", "kmh")),
        (
            _("gross mass less than %s") if one.gross_is_below else _("gross mass at most %s"),
            _figures(one, "most_gross", "lb", "kg"),
        ),
        (_("payload at most %s"), _figures(one, "most_payload", "lb", "kg")),
        (_("%s persons at most"), one.most_persons),
        (_("%s wheels or more") if one.wheels_or_more else _("%s wheels"), one.wheels),
    ]
    return "; ".join(str(words % figure) for words, figure in bounds if figure)


def _figures(one, name, *units):
    figures = [(getattr(one, f"{name}_{unit}"), unit.replace("kmh", "km/h")) for unit in units]
    return " = ".join(f"{figure:f} {unit}" for figure, unit in figures if figure is not None)


@allowed(Role.MANAGER)
def speed_class_create(request):
    form = ClassForm(request.POST or None)
    if request.method == "POST" and form.is_valid() and _done(request, form, add_class, form.made):
        return _to_list(request)
    return _page(request, form, _("Add a speed class"))


@allowed(Role.MANAGER)
def speed_class_change(request, code):
    speed_class = table_at(request.site.pk, EVERYTHING).named(code)
    if speed_class is None:
        raise Http404
    form = ClassForm(request.POST or None, speed_class=speed_class)
    if request.method == "POST" and form.is_valid():
        is_dropped = form.cleaned_data["is_dropped"]
        act, about = (drop_class, code) if is_dropped else (change_class, form.made)
        if _done(request, form, act, about):
            return _to_list(request)
    return _page(request, form, speed_class.name)


@allowed(Role.MANAGER)
def speed_class_usual(request):
    form = UsualForm(request.POST or None, table=table_at(request.site.pk, EVERYTHING))
    if request.method == "POST" and form.is_valid():
        said = form.cleaned_data
        if _done(request, form, set_usual, said["usual"], said["tags_over"]):
            return _to_list(request)
    return _page(request, form, _("Usual class, and tags"))


@allowed(Role.MANAGER)
def speed_class_claim(request, cart):
    carts = Cart.objects.visible_to(request.viewer).in_fleet().select_related("site")
    cart = get_object_or_404(carts, pk=cart, site=request.site)
    table = table_at(cart.site_id, EVERYTHING)
    claim = claims_at([cart.pk], EVERYTHING).get(cart.pk)
    form = ClaimForm(request.POST or None, table=table, claim=claim)
    if request.method == "POST" and form.is_valid():
        code = form.cleaned_data["speed_class"]
        if _done(request, form, claim_class, code, to=cart):
            return redirect(cart)
    return _page(request, form, _("Speed class of the cart"), cart=cart)


def _done(request, form, act, *about, to=None):
    """Do the act; False when the form now says why it was not done."""
    who = {"by": request.viewer.person, "at": request.viewer.at}
    try:
        act(to or request.site, *about, **form.who(), **who)
    except ClassKnown:
        form.add_error("code", _("The table has a class of that code already"))
    except ClassGone:
        form.add_error(None, _("The table has this class no more: open the page anew"))
    except OtherBody:
        say_sent_before(form)
    else:
        messages.success(request, _("Recorded. It holds for speed runs from now on."))
    return form.is_valid()


def _to_list(request):
    return redirect("speed-class-list", request.site.slug)


def _page(request, form, heading, **more):
    context = {"form": form, "heading": heading, **more}
    return render(request, "lifts/speed_class_form.html", context)
