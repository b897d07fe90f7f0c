"""The last speed run of each lifted cart, and what it proves of the cart's class. No writes."""

from dataclasses import dataclass

from django.db.models import ExpressionWrapper, F, FloatField, OuterRef, Subquery, Value
from django.db.models.functions import Coalesce, Least

from fleet.models import Cart
from lifts.models import SpeedRun
from lifts.parts.speed import timed, verdict_of
from lifts.speed import BOUNDARY, CANT_TELL, OVER
from lifts.speed_words import VERDICT_STYLES, VERDICTS, held_to, measured

# listed, the gravest first; under its class a cart needs no list
LISTED = (OVER, BOUNDARY, CANT_TELL)
KMH_OF_MEAN = 1.8  # half the 3.6 km/h of 1 m/s: two runs


@dataclass(frozen=True)
class LastRun:
    """A cart with what its last run proves of its class, in words."""

    run: SpeedRun
    verdict: str

    @property
    def cart(self):
        return self.run.cart

    @property
    def word(self):
        return VERDICTS[self.verdict]

    @property
    def style(self):
        return VERDICT_STYLES[self.verdict]

    @property
    def measured(self):
        return measured(timed(self.run))

    @property
    def held_to(self):
        return held_to(self.run)


def last_runs(viewer, site):
    """Return the last standing run of each cart in the site's fleet that is held to a class."""
    carts = Cart.objects.visible_to(viewer).in_fleet().filter(site=site, is_lifted=True)
    of_cart = SpeedRun.objects.standing().filter(cart=OuterRef("pk"))
    newest = of_cart.order_by("-done_at", "-id").values("pk")[:1]
    runs = SpeedRun.objects.filter(pk__in=carts.annotate(run=Subquery(newest)).values("run"))
    return runs.exclude(class_code="").filter(class_code__isnull=False)


def over_count(viewer, site) -> int:
    """Return how many carts their last run proves over their class."""
    runs = last_runs(viewer, site).annotate(mean_kmh=_mean_kmh())
    least = Least(
        Coalesce("limit_metric_kmh", "limit_inch_kmh"),
        Coalesce("limit_inch_kmh", "limit_metric_kmh"),
    )
    # none that is slower than its limit can be proved over it
    faster = runs.filter(mean_kmh__gt=least)
    return sum(verdict_of(run) == OVER for run in faster)


def _mean_kmh():
    """Return the mean of both runs in km/h, for the database to compare."""
    metres = ExpressionWrapper(F("length_m") * Value(KMH_OF_MEAN), output_field=FloatField())
    ways = metres / F("time_1_s") + metres / F("time_2_s")
    return ExpressionWrapper(ways, output_field=FloatField())


def listed_runs(viewer, site) -> list[LastRun]:
    """Return the carts that are over their class, or may be, the gravest first."""
    runs = last_runs(viewer, site).select_related("cart__site").order_by("cart__number", "id")
    judged = [LastRun(run, verdict_of(run)) for run in runs]
    listed = [one for one in judged if one.verdict in LISTED]
    return sorted(listed, key=lambda one: LISTED.index(one.verdict))
