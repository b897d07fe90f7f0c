from django.core.paginator import Paginator
from django.shortcuts import get_object_or_404, render
from django.template.loader import render_to_string
from django.utils.decorators import method_decorator
from django.utils.safestring import mark_safe
from django.views.decorators.http import require_safe
from django_tables2 import SingleTableView

from fleet.cart_acts import offered
from fleet.cart_page import active_rechecks, ended_rechecks, label_photos
from fleet.desk import carts_for_desk, said_of
from fleet.doubts import meters_of
from fleet.filters.carts import CartFilter
from fleet.forms.cart import NoteForm
from fleet.forms.reading import ReadingForm
from fleet.kinds import register
from fleet.meter_plots import Meters
from fleet.models import Cart
from fleet.reported import standing_tags
from fleet.tables.carts import CartTable
from fleet.tables.tags import CartTagTable
from fleet.timeline import ITEMS_A_PAGE, entries_of, items_of
from shared.models import Role
from shared.tables import CsvList
from shared.viewer import allowed

READERS = (Role.MANAGER, Role.MECHANIC, Role.SURVEYOR)
WRITERS = (Role.MANAGER, Role.MECHANIC)


@method_decorator([allowed(*READERS), require_safe], "dispatch")
class CartList(CsvList, SingleTableView):
    table_class = CartTable
    template_name = "fleet/cart_list.html"
    paginate_by = 50

    def get_queryset(self):
        viewer, site = self.request.viewer, self.request.site
        self.choice = CartFilter(self.request.GET)
        carts = carts_for_desk(viewer, site, site.day(viewer.at)).select_related("site")
        return self.choice.applied(carts)

    def get_table_kwargs(self):
        return {"site": self.request.site}

    def get_context_data(self, **kwargs):
        here = Cart.objects.visible_to(self.request.viewer).filter(site=self.request.site)
        more = {"form": self.choice, "has_carts": here.exists()}
        return super().get_context_data(**kwargs) | more


def cart_for(request, pk):
    """Return the cart of the site with what the desk asks of it, or 404."""
    viewer, site = request.viewer, request.site
    carts = carts_for_desk(viewer, site, site.day(viewer.at)).select_related("site")
    return get_object_or_404(carts, pk=pk)


@allowed(*READERS)
@require_safe
def cart_detail(request, pk):
    cart = cart_for(request, pk)
    today = request.site.day(request.viewer.at)
    works, active = active_rechecks(cart, today)
    meters = Meters(cart, today)
    page = Paginator(entries_of(cart), ITEMS_A_PAGE).get_page(request.GET.get("page"))
    context = {
        "cart": cart,
        "said": said_of(cart, request.site),
        "tags": _tags(request, cart) if cart.is_tagged else None,
        "numbers": cart.numbers.all(),
        "active": active,
        "ended": ended_rechecks(cart, today),
        "plot": mark_safe(meters.plot(works)),
        "rate": meters.said() if meters.points else "",
        "timeline": page,
        "items": items_of(page, cart),
        "photos": label_photos(cart, request.viewer),
        "blocks": _blocks(request, cart),
        "may_write": request.role in WRITERS and cart.condition != Cart.Condition.LEFT,
    }
    forms = _forms(request, cart, meters.facts)
    return render(request, "fleet/cart_detail.html", context | forms)


def _tags(request, cart):
    """Return the tags on a cart as a table: why it must not run, and where it is handed back."""
    tags = standing_tags(request.viewer, request.site).filter(cart=cart).select_related("by")
    releases = request.viewer.may_release_at(request.site)
    links = request.role in WRITERS
    return CartTagTable(tags, site=request.site, may_release=releases, links=links)


def _forms(request, cart, facts):
    if request.role not in WRITERS or cart.condition == Cart.Condition.LEFT:
        return {"acts": []}
    viewer = request.viewer
    acts = [act for act in offered(cart, request.role) if act.name != "note"]
    return {
        "acts": [(act.title, act.url_name) for act in acts],
        "note_form": NoteForm(cart=cart, viewer=viewer),
        "reading_form": ReadingForm(meters=meters_of(facts, request.site), at=viewer.at),
    }


def _blocks(request, cart):
    """Return what the other apps say of the cart, drawn."""
    found = [block(cart, request.viewer) for block in register.blocks]
    return [render_to_string(template, context, request) for template, context in found]
