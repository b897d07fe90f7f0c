"""The cart page's block on its joints: their map, and those beside the kit's own list."""

from fleet.kinds import Cut
from fleet.models import Cart
from lifts.extra_joints import waiting
from lifts.visit_kit import joints_beside
from shared.models import Role

SHOP = (Role.MANAGER, Role.MECHANIC)


def block(cart, viewer, cut=None):
    """Return (template, context); within a cut it shows alone, without one it leads on."""
    role = viewer.role_at(cart.site) if cut is None else None
    cut = cut or Cut(viewer.at, viewer.at)
    is_here = cart.condition != Cart.Condition.LEFT
    context = {
        "cart": cart,
        "beside": list(joints_beside(cart, cut)),
        "waiting": waiting(Cart.objects.filter(pk=cart.pk), cut),
        "may_look": bool(role) and cart.is_lifted,
        "may_tell": role in SHOP and is_here,
        "may_decide": role == Role.MANAGER and is_here,
    }
    return "lifts/cart_joints.html", context
