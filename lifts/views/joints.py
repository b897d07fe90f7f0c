"""The joint map, and joints that a kit's list lacks: seen, taken up, declined, ended."""

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext_lazy as _
from django.views.decorators.http import require_safe
from django_tables2 import RequestConfig

from fleet.kinds import Cut
from fleet.models import Cart
from lifts import joint_map
from lifts.actions import AboveProof
from lifts.actions.extra_joints import (
    JointDecided,
    JointListed,
    JointOver,
    NotLifted,
    decline_joint,
    end_joint,
    see_joint,
    take_up_joint,
)
from lifts.extra_joints import waiting
from lifts.forms_extra_joints import JointSeenForm, ReasonForm, TakeUpForm
from lifts.models import Joint, JointSeen, Kit
from lifts.tables_extra_joints import WaitingTable
from shared.facts import OtherBody
from shared.models import Role
from shared.sent_before import say_sent_before
from shared.viewer import allowed

READERS = (Role.MANAGER, Role.MECHANIC, Role.SURVEYOR)
SHOP = (Role.MANAGER, Role.MECHANIC)


def _cart(request, pk, carts=Cart.objects):
    return get_object_or_404(
        carts.visible_to(request.viewer).select_related("site"), pk=pk, site=request.site
    )


def _cart_in_fleet(request, pk):
    return _cart(request, pk, Cart.objects.in_fleet())


def _seen(request, cart, pk):
    standing = JointSeen.objects.standing()
    return get_object_or_404(standing, pk=pk, cart=_cart_in_fleet(request, cart))


def _now(request):
    return Cut.known_now(request.viewer.at)


@allowed(*READERS)
@require_safe
def cart_map(request, cart):
    cart = _cart(request, cart)
    joints = joint_map.map_of_cart(cart, _now(request))
    title = _("Joint map of cart %s, seen from below, front at the top") % cart.number
    context = {"cart": cart, "back": cart, "key": joint_map.key()}
    return _map(request, joints, str(title), context)


@allowed(*READERS)
@require_safe
def kit_map(request, pk):
    """A kit's joints without their states, to hang up in the shop."""
    kits = Kit.objects.visible_to(request.viewer).filter(site=request.site)
    kit = get_object_or_404(kits.select_related("site"), pk=pk)
    title = _("Joint map of %s, seen from below, front at the top") % kit
    return _map(request, joint_map.map_of_kit(kit), str(title), {"kit": kit, "back": kit})


def _map(request, joints, title, context):
    context |= {
        "joints": joints,
        "drawing": joint_map.drawn(joints, title),
        "is_long": len(joints) > joint_map.MANY,
    }
    return render(request, "lifts/joint_map.html", context)


@allowed(Role.MANAGER)
@require_safe
def seen_list(request):
    carts = Cart.objects.visible_to(request.viewer).in_fleet().filter(site=request.site)
    table = WaitingTable(waiting(carts, _now(request)), site=request.site)
    RequestConfig(request, paginate=False).configure(table)
    return render(request, "lifts/joint_seen_list.html", {"table": table})


@allowed(*SHOP)
def seen_create(request, cart):
    cart = _cart_in_fleet(request, cart)
    form = JointSeenForm(cart, request.site.day(request.viewer.at), request.POST or None)
    if _is_done(request, form, see_joint, cart):
        messages.success(request, _("Recorded. A manager decides whether it is listed."))
        return redirect(cart)
    return _page(request, form, cart, _("A joint that the list lacks"))


@allowed(Role.MANAGER)
def take_up(request, cart, pk):
    seen = _seen(request, cart, pk)
    form = TakeUpForm(seen, request.POST or None, signer=request.viewer.person.name)
    if _is_done(request, form, take_up_joint, seen):
        messages.success(request, _("Recorded. Rounds opened from now on ask for it."))
        return redirect(seen.cart)
    return _page(request, form, seen.cart, _("Put the joint on the cart’s list"), seen=seen)


@allowed(Role.MANAGER)
def decline(request, cart, pk):
    seen = _seen(request, cart, pk)
    form = ReasonForm(request.POST or None)
    if _is_done(request, form, decline_joint, seen):
        messages.success(request, _("Recorded. It stays off the list."))
        return redirect(seen.cart)
    return _page(request, form, seen.cart, _("Leave the joint off the list"), seen=seen)


@allowed(Role.MANAGER)
def end(request, cart, pk):
    beside = Joint.objects.select_related("cart__site")
    joint = get_object_or_404(beside, pk=pk, cart=_cart_in_fleet(request, cart))
    form = ReasonForm(request.POST or None)
    if _is_done(request, form, end_joint, joint):
        messages.success(request, _("Recorded. Rounds ask for it no more."))
        return redirect(joint.cart)
    return _page(request, form, joint.cart, _("Take the joint off the list"), joint=joint)


def _is_done(request, form, act, about):
    """Do the act of a form that was sent; False where none was, or the form now says why not."""
    if request.method != "POST" or not form.is_valid():
        return False
    who = {"by": request.viewer.person, "at": request.viewer.at}
    try:
        act(about, **form.said(), id=form.cleaned_data["act"], **who)
    except NotLifted:
        form.add_error(None, _("No lift is on the cart now"))
    except JointDecided:
        form.add_error(None, _("This was decided or taken back before"))
    except JointListed as listed:
        form.add_error(None, _("The cart’s list has it already: %s") % listed)
    except JointOver:
        form.add_error(None, _("It was taken off the list before"))
    except AboveProof as above:
        form.ask_signature(above.joints)
    except OtherBody:
        say_sent_before(form)
    return form.is_valid()


def _page(request, form, cart, heading, **more):
    context = {"form": form, "cart": cart, "heading": heading, **more}
    return render(request, "lifts/joint_act.html", context)
