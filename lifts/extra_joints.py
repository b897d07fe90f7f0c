"""The joints that carts have beside their kits' own: those that wait for a manager, and why not."""

from uuid import UUID

from fleet.kinds import Cut
from lifts.models import JointSeen
from shared.models import Change

JOINT, DECLINED, ENDED = "joint", "joint declined", "joint ended"
DECIDED = (JOINT, DECLINED)


def decided(changes) -> set[UUID]:
    """Return which joints that were seen the changes decide on."""
    return {UUID(value["seen"]) for value in changes.values_list("value", flat=True)}


def waiting(carts, cut: Cut) -> list[JointSeen]:
    """Return the joints seen at the carts, a QuerySet, that no manager decided on, oldest first."""
    changes = Change.objects.known(cut.happened_by, cut.known_by).filter(what__in=DECIDED)
    done = decided(changes.filter(cart_id__in=carts.values("pk")))
    seen = JointSeen.objects.known(cut.happened_by, cut.known_by).standing(cut.known_by)
    seen = seen.filter(cart__in=carts).select_related("cart__site", "by")
    return [one for one in seen.order_by("done_at", "id") if one.pk not in done]
