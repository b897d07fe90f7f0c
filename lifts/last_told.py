"""What was told last at the visited cart, so that it need not be typed again."""

from lifts.visit_kit import cut_then, lift_then


def last_told(model, visit):
    """Return the cart's last part of a kind under the lift then on it; None where there is none.

    For a round told again, the last one before that round.
    """
    cut, lift = visit.once(cut_then), visit.once(lift_then)
    if lift is None:
        return None
    told = model.objects.known(cut.happened_by, cut.known_by).standing(cut.known_by)
    told = told.filter(cart=visit.cart, done_at__gte=lift.done_at)
    if visit.corrects:
        told = told.filter(done_at__lt=cut.happened_by)
    return told.order_by("-done_at", "-pk").first()
