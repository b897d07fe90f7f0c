"""The mechanic's round: found, done and saved."""

from dataclasses import replace
from datetime import datetime, timedelta

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.core.signing import BadSignature
from django.http import Http404
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.decorators import method_decorator
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django_tables2 import SingleTableView

from fleet.actions.corrections import correct_round
from fleet.actions.rounds import save_round
from fleet.board import STATE_WORDS
from fleet.cautions import CAUTIONS
from fleet.fitted import BeforeFitting
from fleet.forms.round_acts import NumberForm
from fleet.models import Cart, Round
from fleet.reported import unanswered
from fleet.round_page import RoundPage
from fleet.round_result import held_by
from fleet.tables.rounds import CalledCartTable
from fleet.today import carts_called
from fleet.visits import called_at, minutes_of, new_visit, visit_again, visit_carried
from fleet.why_now import what
from shared.facts import NotStanding, OtherBody
from shared.models import Photo, Role, new_id
from shared.tables import CsvList
from shared.trials import kill_point
from shared.viewer import allowed

BEFORE_FITTING = gettext_lazy("That is before the cart came, or before its lift was fitted.")
SHIFT = timedelta(hours=12)  # judgement, no source
CAUTIONS_SEEN = "cautions_seen_at"
CONFLICT = 409
X_PART = "X-Part"
SHOWN = ("round", "shown")  # asked of no part: all that was typed, shown again
HOW = {"scanned": Round.Identified.SCANNED, "typed": Round.Identified.TYPED}


def _cart(request, pk):
    carts = Cart.objects.visible_to(request.viewer).filter(site=request.site).in_fleet()
    return get_object_or_404(carts.select_related("site"), pk=pk)


def _round(request, cart, pk):
    rounds = Round.objects.visible_to(request.viewer).filter(cart_id=cart, site=request.site)
    return get_object_or_404(rounds.select_related("cart__site", "by"), pk=pk)


@method_decorator(allowed(Role.MECHANIC, Role.MANAGER), "dispatch")
class RoundStart(CsvList, SingleTableView):
    """Type a number, or pick from the carts that are called for today."""

    table_class = CalledCartTable
    template_name = "fleet/round_start.html"
    paginate_by = 40

    def get(self, request, *args, **kwargs):
        today = request.site.day(request.viewer.at)
        data = request.GET if "number" in request.GET else None
        self.form = NumberForm(data, site=request.site, today=today)
        if self.form.is_bound and self.form.is_valid():
            url = redirect("round-create", request.site.slug, self.form.cart.pk)
            url["Location"] += "?how=typed"
            return url
        return super().get(request, *args, **kwargs)

    def get_queryset(self):
        with_open = "open" in self.request.GET
        return carts_called(self.request.viewer, self.request.site, with_open=with_open)

    def get_context_data(self, **kwargs):
        viewer, site = self.request.viewer, self.request.site
        reports = unanswered(viewer, site, viewer.at)
        return super().get_context_data(form=self.form, reports=reports, **kwargs)


@allowed(Role.MECHANIC, Role.MANAGER)
def round_create(request, pk):
    cart = _cart(request, pk)
    if request.method == "POST":
        return _save(request, cart)
    row = _corrected(request, cart)
    visit = _visit(request, cart) if row is None else visit_again(row, request.viewer, held_by(row))
    page = RoundPage(visit, request.viewer.at, cautions_seen=_has_seen_cautions(request))
    return _show(request, page)


def _visit(request, cart):
    return new_visit(
        cart,
        request.viewer,
        called_at(cart, request.viewer.at),
        whole="whole" in request.GET,
        identified=HOW.get(request.GET.get("how"), Round.Identified.LISTED),
    )


def _corrected(request, cart):
    """Return the round that is to be told again, if the address names one of this cart."""
    wanted = request.GET.get("corrects", "")
    if not wanted:
        return None
    rounds = Round.objects.visible_to(request.viewer).filter(cart=cart, site=request.site)
    try:
        return get_object_or_404(rounds, pk=wanted)
    except ValidationError as no_id:
        raise Http404 from no_id


def _save(request, cart):
    try:
        visit = visit_carried(request.POST.get("visit", ""), cart, request.viewer)
    except BadSignature:
        called = called_at(cart, request.viewer.at)
        visit = new_visit(cart, request.viewer, called, whole=True)
        return _keep_typed(request, visit, _("The page could not be read, so nothing was saved."))
    if visit.by_id != request.viewer.person.pk:
        return _keep_typed(request, visit, _("Somebody else opened this page. Nothing was saved."))
    if "ask" in request.POST:
        return _answer(request, visit)
    page = _bound(request, visit)
    if not page.is_valid():
        return _show(request, page)
    request.session[CAUTIONS_SEEN] = request.viewer.at.isoformat()
    try:
        saved = _record(request, cart, page)
    except OtherBody:
        return _keep_typed(request, visit, _("This round was saved before with other content."))
    except NotStanding as refused:
        page.form.add_error(None, refused.why)
        return _show(request, page)
    except BeforeFitting:
        page.form.add_error("done_at", BEFORE_FITTING)
        return _show(request, page)
    kill_point("after-commit")
    messages.success(request, _("Saved.") if saved.first else _("This round was saved already."))
    return redirect("round-detail", request.site.slug, cart.pk, saved.round.pk)


def _record(request, cart, page):
    taken = page.taken_down()
    who = {"by": request.viewer.person, "at": request.viewer.at}
    if taken.corrects is None:
        return save_round(cart, taken, **who)
    return correct_round(_round(request, cart.pk, taken.corrects), taken, **who)


def _answer(request, visit):
    """Show what one part answers, and save nothing: with X-Part that part alone."""
    code, _colon, what = request.POST["ask"].partition(":")
    page = _bound(request, visit, asked=(code, what))
    if page.asked == SHOWN:
        return _show(request, page)
    step = page.answering()
    if step is None:
        raise Http404
    if X_PART not in request.headers:
        return _show(request, page)
    context = {"step": step, "page": page, "cart": visit.cart, "corrected": page.retold}
    return render(request, "fleet/_round_step.html", context)


def _bound(request, visit, **more):
    seen = _has_seen_cautions(request)
    at = request.viewer.at
    return RoundPage(visit, at, request.POST, request.FILES, cautions_seen=seen, **more)


def _keep_typed(request, visit, why):
    """Show all that was typed again, now as a round of its own."""
    saved = Round.objects.visible_to(request.viewer).filter(pk=visit.id, cart=visit.cart).first()
    again = replace(visit, id=new_id(), by_id=request.viewer.person.pk, viewer=request.viewer)
    page = _bound(request, again)
    return _show(request, page, status=CONFLICT, conflict=why, saved_round=saved)


def _has_seen_cautions(request):
    seen_at = request.session.get(CAUTIONS_SEEN)
    return bool(seen_at) and request.viewer.at - datetime.fromisoformat(seen_at) < SHIFT


def _show(request, page, status=200, **more):
    cart, at = page.visit.cart, request.viewer.at
    called = called_at(cart, at)
    photos = Photo.objects.standing().filter(cart_id=cart.pk, site=request.site)
    context = {
        "cart": cart,
        "page": page,
        "form": page.form,
        "due": [_said(one) for one in called if one.is_due],
        "open": [_said(one) for one in called if not one.is_due],
        "minutes": minutes_of(called),
        "photo": photos.order_by("done_at").last(),
        "cautions": CAUTIONS,
        "mistakes": list(page.mistakes()),
        "reports": unanswered(request.viewer, request.site, at).filter(cart=cart),
        "corrected": page.retold,
        **more,
    }
    return render(request, "fleet/round_create.html", context, status=status)


def _said(called):
    return {
        "what": what(called.recheck),
        "state": called.state,
        "state_word": STATE_WORDS[called.state],
    }
