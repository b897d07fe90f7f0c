"""Sister carts of one cart: chosen by what they share, and put on recheck in one act."""

from django.contrib import messages
from django.core.paginator import Paginator
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_POST, require_safe

from fleet.kinds import Cut
from fleet.models import Cart
from lifts.actions.rechecks import order_for_carts
from lifts.forms_sisters import SistersForm
from lifts.sister_page import CARTS_A_PAGE, rows_of
from lifts.sisters import Sisters
from shared.facts import OtherBody
from shared.models import Role
from shared.sent_before import say_sent_before
from shared.viewer import allowed


def _sisters(request, pk):
    carts = Cart.objects.visible_to(request.viewer).select_related("site")
    cart = get_object_or_404(carts, pk=pk, site=request.site)
    return Sisters(cart, Cut.known_now(request.viewer.at))


@allowed(Role.MANAGER)
@require_safe
def sister_list(request, cart):
    sisters = _sisters(request, cart)
    return _show(request, sisters, SistersForm(cart=sisters.cart, viewer=request.viewer))


@allowed(Role.MANAGER)
@require_POST
def sister_order(request, cart):
    sisters = _sisters(request, cart)
    form = SistersForm(request.POST, cart=sisters.cart, viewer=request.viewer)
    ticked = set(request.POST.getlist("cart"))
    found = [cart for cart, _shares in sisters.sharing(_chosen(request))]
    wanted = [one for one in found if "all" in request.POST or str(one.pk) in ticked]
    if form.is_valid() and not wanted:
        form.add_error(None, _("No cart is ticked."))
    if form.is_valid() and _is_ordered(request, sisters, form, wanted):
        address = reverse("sister-list", args=[request.site.slug, cart])
        return redirect(address + _query(request))
    return _show(request, sisters, form, ticked)


def _is_ordered(request, sisters, form, carts):
    said = form.cleaned_data
    about = (said["act"], request.site, [cart.pk for cart in carts])
    who = {"by": request.viewer.person, "at": request.viewer.at}
    more = {"reason": _reason(request, sisters, said["reason"]), "stops": said["stops"]}
    try:
        made = order_for_carts(*about, said["kind_code"], said["due_on"], **more, **who)
    except OtherBody:
        say_sent_before(form)
        return False
    words = ngettext("%(n)s recheck was ordered.", "%(n)s rechecks were ordered.", len(made))
    messages.success(request, words % {"n": len(made)})
    return True


def _reason(request, sisters, why):
    chosen = set(_chosen(request))
    shared = [words for trait, words, _count in sisters.traits() if trait.code in chosen]
    return _("Sister of cart %(number)s (%(shared)s): %(why)s") % {
        "number": sisters.cart.number,
        "shared": "; ".join(shared),
        "why": why,
    }


def _chosen(request):
    return request.GET.getlist("by")


def _query(request):
    query = request.GET.urlencode()
    return f"?{query}" if query else ""


def _show(request, sisters, form, ticked=None):
    chosen = set(_chosen(request))
    found = Paginator(sisters.sharing(chosen), CARTS_A_PAGE)
    page = found.get_page(request.GET.get("page"))
    rows = rows_of(sisters, page.object_list, request.viewer)
    context = {
        "cart": sisters.cart,
        "fitting": sisters.fittings.get(sisters.cart.pk),
        "traits": [(*about, about[0].code in chosen) for about in sisters.traits()],
        "rows": [(row, ticked is None or str(row.cart.pk) in ticked) for row in rows],
        "count": found.count,
        "paging": page,
        "earlier": _page_url(request, page.has_previous() and page.previous_page_number()),
        "further": _page_url(request, page.has_next() and page.next_page_number()),
        "query": _query(request),
        "form": form,
    }
    return render(request, "lifts/sister_list.html", context)


def _page_url(request, number):
    if not number:
        return ""
    query = request.GET.copy()
    query["page"] = number
    return f"?{query.urlencode()}"
