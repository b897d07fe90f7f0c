"""Which cart a painted number names on a day. Numbers are reused: number and day name one."""

from collections import defaultdict
from datetime import date

from fleet.models import CartNumber
from fleet.sheet_words import gettext_noop as _
from fleet.sheets import Words
from shared.dates import shown_day

UNKNOWN = _("a number that a cart carries or carried; bring the carts in first")
CARRIED_UNTIL = _("a day up to %(day)s, until when a cart carried that number")
CARRIED_BETWEEN = _("a day on which a cart carried that number; none did before %(day)s")
NOT_TODAY = _("a number that a cart carries today, or a date")


class CartNumbers:
    """The painted numbers of a site, by number."""

    def __init__(self, site):
        self.site = site
        self.spans = defaultdict(list)
        for span in CartNumber.objects.filter(site=site).order_by("from_day", "id"):
            self.spans[span.number].append(span)

    def cart_on(self, number: str, day: date | None, today: date):
        """Return (cart id, None), or (None, what would be accepted).

        A day before the number's first is the first cart's: records are often younger than
        carts. Without a day the number is today's.
        """
        spans = self.spans.get(number)
        if not spans:
            return None, Words(UNKNOWN)
        asked = day or today
        covering = [one for one in spans if one.from_day <= asked <= (one.to_day or asked)]
        if covering:
            return covering[-1].cart_id, None
        if day is None:
            return None, Words(NOT_TODAY)
        if day < spans[0].from_day:
            return spans[0].cart_id, None
        return None, self._gap(spans, day)

    def _gap(self, spans, day):
        later = [span.from_day for span in spans if span.from_day > day]
        if later:
            return Words(CARRIED_BETWEEN, {"day": self._shown(min(later))})
        return Words(CARRIED_UNTIL, {"day": self._shown(spans[-1].to_day)})

    def _shown(self, day):
        return shown_day(day, self.site.date_order)
