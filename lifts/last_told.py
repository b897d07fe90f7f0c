"""What was told last at the visited cart, so that it need not be typed again."""

from fleet.kinds import Cut
from lifts.visit_kit import fittings_on, moment_of


def last_told(model, visit):
    """Return the cart's last part of a kind under the lift then on it; None where there is none.

    For a round told again, the last one before that round.
    """
    cut = Cut(moment_of(visit), visit.known_by)
    told = model.objects.known(cut.happened_by, cut.known_by).standing(cut.known_by)
    told = told.filter(cart=visit.cart)
    since = fittings_on(visit.cart.pk, cut).values("done_at")[:1]
    if visit.corrects:
        told = told.filter(done_at__lt=cut.happened_by)
    return told.filter(done_at__gte=since).order_by("-done_at", "-pk").first()
