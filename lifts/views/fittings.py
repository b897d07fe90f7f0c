from django.contrib import messages
from django.http import Http404
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext_lazy as _
from django.views.decorators.http import require_safe

from fleet.kinds import Cut
from fleet.models import Cart
from lifts.actions import NotOnCart, correct_fitting, fit, fit_old, remove_lift, take_wheel_off
from lifts.after_fitting import recorded
from lifts.chapters import chapters_of
from lifts.fitting_record import compared, warnings_of
from lifts.forms import RemovalForm, WheelOffForm
from lifts.forms_fittings import FittingAgainForm, FittingForm
from lifts.models import Fitting
from lifts.visit_kit import fitting_on, names_lugs
from shared.facts import NotStanding, OtherBody
from shared.models import Role
from shared.sent_before import say_sent_before
from shared.viewer import allowed

READERS = (Role.MANAGER, Role.MECHANIC, Role.SURVEYOR)
WRITERS = (Role.MANAGER, Role.MECHANIC)
TAKEN_OFF = _(
    "Recorded. The rechecks of this lift have ended. Take the label off where it is no longer "
    "true, and look at the stock joints."
)


NO_SHEET = _(
    "Nothing on record names those lugs, so nobody can go round them yet: a manager adds a kit "
    "that lifts nothing, with the lugs of a plain cart"
)


def _cart(request, pk):
    carts = Cart.objects.visible_to(request.viewer).in_fleet().select_related("site")
    return get_object_or_404(carts, pk=pk, site=request.site)


def _fitting(request, cart, pk):
    standing = Fitting.objects.visible_to(request.viewer).standing()
    return get_object_or_404(standing.select_related("cart__site", "site", "kit"), pk=pk, cart=cart)


def _today(request):
    return request.site.day(request.viewer.at)


@allowed(*WRITERS)
def fitting_create(request, cart):
    cart = _cart(request, cart)
    asked = {"at": request.viewer.at, "is_manager": request.role == Role.MANAGER}
    form = FittingForm(cart, _today(request), request.POST or None, **asked)
    if request.method == "POST" and form.is_valid():
        kit, told = form.cleaned_data["kit"], {"lines": form.lines(), **form.about()}
        told["read"] = form.read(request.role)
        act = fit_old if form.is_old else fit
        fitting = _done(request, form, act, cart, kit, **told, **form.when())
        if fitting:
            for level, said in recorded(fitting, _today(request)):
                messages.add_message(request, level, said)
            _warn(request, fitting)
            return redirect(cart)
    on = fitting_on(cart, Cut.known_now(request.viewer.at))
    more = {"template": "lifts/fitting_form.html", "on": on}
    return _page(request, form, cart, _("A lift was fitted"), **more)


@allowed(*WRITERS)
def fitting_correct(request, cart, pk):
    """Tell a fitting again, whole, with a reason; what was told before stays readable."""
    cart = _cart(request, cart)
    fitting = _fitting(request, cart, pk)
    form = FittingAgainForm(cart, _today(request), request.POST or None)
    form.begin_with(fitting, fitting.lines.order_by("place"))
    if request.method == "POST" and form.is_valid():
        kit, about = form.cleaned_data["kit"], form.about()
        about["reason"] = form.cleaned_data["reason"]
        again = _done(request, form, correct_fitting, fitting, kit, form.lines(), **about)
        if again:
            messages.success(request, _("Recorded. What was told before stays readable."))
            _warn(request, again)
            return redirect(cart)
    more = {"fitting": fitting, "template": "lifts/fitting_form.html"}
    return _page(request, form, cart, _("Tell the fitting again"), **more)


def _warn(request, fitting):
    for said in warnings_of(fitting, fitting.lines.order_by("place")):
        messages.warning(request, said)


@allowed(*READERS)
@require_safe
def fitting_compare(request, cart):
    """Two lifts of a cart's life side by side: the last two, or those that were chosen."""
    carts = Cart.objects.visible_to(request.viewer).select_related("site")
    cart = get_object_or_404(carts, pk=cart, site=request.site)
    chapters = chapters_of(cart, Cut.known_now(request.viewer.at))
    if len(chapters) < 2:
        raise Http404
    chosen = [_chosen(request, name, chapters) for name in ("older", "newer")]
    pair = [one or chapters[place] for one, place in zip(chosen, (1, 0), strict=True)]
    context = {
        "cart": cart,
        "chapters": chapters,
        "pair": pair,
        "groups": compared([one.record for one in pair], [one.fitting.done_at for one in pair]),
    }
    return render(request, "lifts/fitting_compare.html", context)


def _chosen(request, name, chapters):
    wanted = request.GET.get(name, "")
    return next((one for one in chapters if str(one.fitting.pk) == wanted), None)


@allowed(*WRITERS)
def fitting_remove(request, cart, pk):
    cart = _cart(request, cart)
    fitting = _fitting(request, cart, pk)
    first_day = request.site.day(fitting.done_at)
    form = RemovalForm(cart, _today(request), request.POST or None, first_day=first_day)
    if request.method == "POST" and form.is_valid():
        when = form.when()
        # noon of its day may come before a lift fitted that afternoon
        when |= {"done_at": max(when["done_at"], fitting.done_at)} if when else {}
        if _done(request, form, remove_lift, fitting, form.cleaned_data["reason"], **when):
            messages.success(request, TAKEN_OFF)
            return redirect(cart)
    return _page(request, form, cart, _("The lift was taken off"), fitting=fitting)


@allowed(*WRITERS)
def wheel_off_create(request, cart):
    cart = _cart(request, cart)
    form = WheelOffForm(cart, _today(request), request.POST or None)
    if request.method == "POST" and form.is_valid():
        about = {name: form.cleaned_data[name] for name in ("reason", "is_tyre_changed")}
        wheel = form.cleaned_data["wheel"]
        if _done(request, form, take_wheel_off, cart, wheel, **about, **form.when()):
            messages.success(request, _("Recorded. The lugs of that wheel are due again soon."))
            _warn_without_sheet(request, cart, wheel)
            return redirect(cart)
    return _page(request, form, cart, _("A wheel was off"))


def _warn_without_sheet(request, cart, wheel):
    if not names_lugs(cart, wheel, Cut.known_now(request.viewer.at)):
        messages.warning(request, NO_SHEET)


def _done(request, form, act, *about, **more):
    """Do the act and return its fact; None when the form now says why it was not done."""
    who = {"by": request.viewer.person, "at": request.viewer.at}
    try:
        return act(*about, id=form.cleaned_data["act"], **who, **more)
    except OtherBody:
        say_sent_before(form)
    except NotOnCart:
        form.add_error(None, _("This lift is off the cart already"))
    except NotStanding:
        form.add_error(None, _("It was taken back or told again before"))
    return None


def _page(request, form, cart, heading, *, template="lifts/act_form.html", **more):
    return render(request, template, {"form": form, "cart": cart, "heading": heading, **more})
