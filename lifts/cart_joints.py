"""What the pages of a cart and a round show of its joints: their map, those beside the list."""

from django.urls import reverse
from django.utils.translation import gettext as _

from fleet.kinds import Cut
from fleet.models import Cart
from lifts.extra_joints import waiting
from lifts.visit_kit import joints_beside
from shared.models import Role

SHOP = (Role.MANAGER, Role.MECHANIC)


def block(cart, viewer, cut=None):
    """Return (template, context); within a cut it shows alone, without one it leads on."""
    leads_on = list(leads(cart, viewer)) if cut is None else []
    role = viewer.role_at(cart.site) if cut is None else None
    cut = cut or Cut.known_now(viewer.at)
    context = {
        "cart": cart,
        "leads": leads_on,
        "beside": list(joints_beside(cart, cut)),
        "waiting": waiting(Cart.objects.filter(pk=cart.pk), cut),
        "may_decide": role == Role.MANAGER and cart.condition != Cart.Condition.LEFT,
    }
    return "lifts/cart_joints.html", context


def leads(cart, viewer):
    """Yield (title, url) of the map, and of where a joint that the list lacks is recorded."""
    if not cart.is_lifted:
        return
    where = [cart.site.slug, cart.pk]
    yield _("Joint map"), reverse("joint-map", args=where)
    if viewer.role_at(cart.site) in SHOP and cart.condition != Cart.Condition.LEFT:
        yield _("A joint that the list lacks"), reverse("joint-seen-create", args=where)
