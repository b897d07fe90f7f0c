"""Carts kept out of use: tagged, shown on a card, handed back."""

from django.contrib import messages
from django.http import Http404
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.decorators import method_decorator
from django.utils.translation import gettext as _
from django_tables2 import SingleTableView

from fleet.actions.tags import HandedBack, hand_back, tag_cart
from fleet.forms.tags import HandBackForm, TagForm
from fleet.kinds import register
from fleet.models import Cart, HandBack, Tag
from fleet.reported import standing_tags
from fleet.tables.tags import HandBackTable, OpenTagTable
from shared import photos
from shared.facts import OtherBody
from shared.models import Membership, Photo, Role
from shared.sent_before import say_sent_before
from shared.tables import CsvList
from shared.viewer import allowed

LATELY_ROWS = 30


def _tags(request):
    """Return the standing tags of the site's carts, also those written where a cart was before."""
    known = Tag.objects.standing().filter(cart__site=request.site)
    return known.select_related("cart__site", "by")


def _hand_backs(request):
    return HandBack.objects.standing().filter(cart__site=request.site)


@method_decorator(allowed(Role.MANAGER, Role.MECHANIC, Role.DESK), "dispatch")
class TagList(CsvList, SingleTableView):
    table_class = OpenTagTable
    template_name = "fleet/tag_list.html"
    paginate_by = 50

    def get_queryset(self):
        request = self.request
        tags = standing_tags(request.viewer, request.site)
        return tags.select_related("cart", "by")

    def get_table_kwargs(self):
        request = self.request
        return {
            "site": request.site,
            "may_release": request.viewer.may_release_at(request.site),
            "links": request.role != Role.DESK,
        }

    def get_context_data(self, **kwargs):
        lately = _hand_backs(self.request).select_related("cart", "tag", "by", "repaired_by")
        rows = lately.order_by("-done_at", "-pk")[:LATELY_ROWS]
        ended = HandBackTable(rows, site=self.request.site, prefix="ended-")
        return super().get_context_data(ended=ended, **kwargs)


@allowed(Role.MANAGER, Role.MECHANIC)
def tag_create(request, pk):
    carts = Cart.objects.visible_to(request.viewer).filter(site=request.site).in_fleet()
    cart = get_object_or_404(carts.select_related("site"), pk=pk)
    form = TagForm(request.POST or None, request.FILES or None)
    if request.method == "POST" and form.is_valid():
        tag = _tagged(request, cart, form)
        if tag is not None:
            messages.success(request, _("Cart %s is tagged: it must not run.") % cart)
            return redirect("tag-card", request.site.slug, tag.pk)
    return render(request, "fleet/tag_create.html", {"form": form, "cart": cart})


def _tagged(request, cart, form):
    """Return the tag, once however often the form is sent; None when the form says why not."""
    said = form.cleaned_data
    known = _tags(request).filter(pk=said["id"], cart=cart).first()
    if known is not None and known.reason == said["reason"]:
        return known
    try:
        taken = _photos(request, cart, said.pop("photo"))
        return tag_cart(cart, **said, photos=taken, by=request.viewer.person, at=request.viewer.at)
    except photos.PhotoRefused as refused:
        form.add_error("photo", refused.why)
    except OtherBody:
        say_sent_before(form, "id")
    return None


def _photos(request, cart, upload):
    if not upload:
        return []
    at = request.viewer.at
    of_cart = {"site": cart.site, "cart_id": cart.pk, "shows": Photo.Shows.TAG}
    by = request.viewer.person
    return [photos.take(upload, **of_cart, by=by, done_at=at, written_at=at)]


@allowed(Role.MANAGER, Role.MECHANIC, Role.DESK)
def tag_card(request, pk):
    """The card that hangs on the cart, to be printed."""
    tag = get_object_or_404(_tags(request), pk=pk)
    here = Membership.objects.in_force(request.site.day(request.viewer.at))
    people = here.filter(site=request.site, person__is_active=True).select_related("person")
    context = {
        "tag": tag,
        "cart": tag.cart,
        "releasers": [row.person for row in people if row.releases],
        "back": _hand_backs(request).filter(tag=tag).select_related("by").first(),
    }
    return render(request, "fleet/tag_card.html", context)


@allowed(Role.MANAGER, Role.MECHANIC)
def hand_back_tag(request, pk):
    if not request.viewer.may_release_at(request.site):
        raise Http404
    tag = get_object_or_404(_tags(request), pk=pk)
    person = request.viewer.person
    form = HandBackForm(request.POST or None, tag=tag, site=request.site, by=person)
    if request.method == "POST" and form.is_valid():
        _hand_back(request, tag, form.cleaned_data)
        return redirect("tag-list", request.site.slug)
    shown = Photo.objects.visible_to(request.viewer).filter(about=tag.pk, site=request.site)
    leads = register.leads_from(tag.cart, request.viewer)
    context = {
        "form": form,
        "tag": tag,
        "cart": tag.cart,
        "photos": shown,
        "leads": leads,
        "others": _others(request, tag),
    }
    return render(request, "fleet/tag_hand_back.html", context)


def _hand_back(request, tag, said):
    try:
        hand_back(
            tag,
            id=said["id"],
            done=said["done"],
            repaired_by=said["repaired_by"],
            drive_note=said["drive_note"],
            by=request.viewer.person,
            at=request.viewer.at,
        )
    except (HandedBack, OtherBody):
        messages.warning(request, _("Cart %s was handed back already.") % tag.cart)
    else:
        _say_handed_back(request, tag)


def _say_handed_back(request, tag):
    other = _others(request, tag).first()
    if other is None:
        messages.success(request, _("Cart %s is handed back.") % tag.cart)
        return
    said = _("This tag is answered. Cart %(cart)s has another and must not run: %(reason)s")
    messages.warning(request, said % {"cart": tag.cart, "reason": other.reason})


def _others(request, tag):
    """Return the other tags that stand on the cart of a tag."""
    tags = standing_tags(request.viewer, request.site)
    return tags.filter(cart=tag.cart_id).exclude(pk=tag.pk)
