"""What was told last at the visited cart, so that it need not be typed again."""

from fleet.kinds import Cut
from fleet.models import Round
from lifts.visit_kit import fittings_on


def last_told(model, visit):
    """Return the cart's last part of a kind under the lift now on it; None where there is none.

    For a round told again, the last one before that round.
    """
    cut = Cut(visit.at, visit.at)
    told = model.objects.known(visit.at, visit.at).standing(visit.at).filter(cart=visit.cart)
    since = fittings_on(visit.cart.pk, cut).values("done_at")[:1]
    if visit.corrects:
        told = told.filter(done_at__lt=Round.objects.filter(pk=visit.corrects).values("done_at"))
    return told.filter(done_at__gte=since).order_by("-done_at", "-pk").first()
