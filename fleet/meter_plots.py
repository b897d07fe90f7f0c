"""The plot of a cart's use and where it is going, in figures of the present meter."""

from datetime import timedelta

from django.utils.translation import gettext as _

from fleet.gather import ground_of, site_at, site_stays
from fleet.lately import lately_of
from fleet.reading_doubts import MOST_A_DAY
from fleet.usage import use_rate
from fleet.why_now import day_said, what
from shared.dates import shown_day
from shared.plots import Forecast, Limit, Words, use_plot

FORECAST_DAYS = 28
POINTS_SHOWN = 60
LIMITS_SHOWN = 3


class Meters:
    """A cart's two meters as the newest of their facts have them, read once."""

    def __init__(self, cart, today):
        self.cart, self.site, self.today = cart, cart.site, today
        lately = lately_of(cart)
        self.facts = lately.facts
        self.ground = ground_of([self.facts])
        self.hours, self.metres = lately.points(self.ground.sites)

    @property
    def measure(self):
        """The meter that the plot shows: hours where there are any, else distance."""
        return "hours" if self.hours else "distance"

    @property
    def points(self):
        return self.hours or self.metres

    @property
    def rate(self):
        return use_rate(self.points, most_per_day=MOST_A_DAY[self.measure])

    def figure(self, life):
        """Return a life as the figure that the present meter shows for it."""
        at = self.cart.hours_at if self.measure == "hours" else self.cart.distance_at
        return at(life)

    @property
    def unit(self):
        return "h" if self.measure == "hours" else self.cart.distance_unit

    def day(self, at):
        return self.ground.day(site_at(site_stays(self.facts), at), at)

    def said(self):
        """Return the rate in words: "1.21 h a day (0.9 to 1.4), from 5 readings"."""
        rate = self.rate
        if rate is None:
            return _(
                "Too few readings of late, or of less than a week, for a rate of its own: the "
                "class average stands in."
            )
        per_day = [self._per_day(value) for value in (rate.per_day, rate.low, rate.high)]
        return _("%(rate)s %(unit)s a day (%(low)s to %(high)s), from %(count)s readings") % {
            "rate": f"{per_day[0]:.2f}",
            "low": f"{per_day[1]:.2f}",
            "high": f"{per_day[2]:.2f}",
            "unit": self.unit,
            "count": rate.count,
        }

    def _per_day(self, life):
        return life if self.measure == "hours" else life / self.cart.metres_per_shown

    def plot(self, rechecks):
        """Return the drawing as SVG text; empty without a reading."""
        if not self.points:
            return ""
        shown = [(self.day(p.at), float(self.figure(p.life))) for p in self.points[-POINTS_SHOWN:]]
        last = day_said(shown[-1][0], self.today, self.site)
        told = _("Last read %(day)s: %(figure)s %(unit)s") % {
            "day": last,
            "figure": f"{shown[-1][1]:,.1f}",
            "unit": self.unit,
        }
        return use_plot(
            shown,
            words=Words(_("Meter readings and the use to come"), told),
            unit=self.unit,
            forecast=self._forecast(),
            limits=self._limits(rechecks),
            today=self.today,
            say_day=lambda day: shown_day(day, self.site.date_order),
        )

    def _forecast(self):
        rate, last = self.rate, self.points[-1]
        if rate is None:
            return []
        ahead = [last.life + each * FORECAST_DAYS for each in (rate.low, rate.per_day, rate.high)]
        on = self.day(last.at) + timedelta(days=FORECAST_DAYS)
        return [Forecast(on, *[float(self.figure(life)) for life in ahead])]

    def _limits(self, rechecks):
        name = "due_hours" if self.measure == "hours" else "due_metres"
        lives = sorted((getattr(one, name), what(one)) for one in rechecks if getattr(one, name))
        return [Limit(work, float(self.figure(life))) for life, work in lives[:LIMITS_SHOWN]]
