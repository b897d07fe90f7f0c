"""How many carts there are, and how they stand: as of the day, and by days over the period."""

from collections import Counter, defaultdict
from datetime import date, timedelta

from django.utils.translation import gettext_lazy as _

from fleet.bundle.figure import Figure
from fleet.cart_days import common, days_by_state, days_of
from fleet.gather import site_stays

DAY = timedelta(days=1)
TAGGED, STOPPED, LATE, LEEWAY, ON_TIME = "tagged", "stopped", "late", "leeway", "on_time"
ALL, LIFTED = "all", "lifted"
GROUPS = {ALL: _("all carts"), LIFTED: _("lifted carts")}
BY_GRAVITY = {
    TAGGED: _("kept out of use by a tag, whatever else is due: never counted as good"),
    STOPPED: _("not tagged; a stop limit was reached, so that the cart must not run"),
    LATE: _("not tagged or stopped; a recheck was past its leeway"),
    LEEWAY: _(
        "none of these; a recheck was past the day of its limit, read or by forecast, "
        "and inside its leeway"
    ),
    ON_TIME: _("none of these; no recheck was past the day of its limit"),
}
OF_RECHECKS = (STOPPED, LATE, LEEWAY)
TITLES = {
    TAGGED: _("tagged"),
    STOPPED: _("stopped"),
    LATE: _("late"),
    LEEWAY: _("within leeway"),
    ON_TIME: _("on time"),
}
ONCE = _("Each cart-day counts once, for the gravest; the day that a state began or ended counts.")


class CartCount:
    """Counts the carts of the site. Of those that went elsewhere it judges nothing."""

    def __init__(self, scope):
        self.scope = scope
        self.now, self.days = defaultdict(Counter), defaultdict(Counter)
        self.gone, self.days_gone = 0, 0

    def take(self, batch):
        for cart in batch.carts:
            if cart.is_here:
                self._judge(cart)
            else:
                self.gone += 1
                self.days_gone += days_of(self._here(cart))

    def _judge(self, cart):
        here, spans = self._here(cart), _by_state(cart)
        for group, own in ((ALL, here), (LIFTED, common(here, _lifted(cart)))):
            self.days[group].update(days_by_state(own, spans, ON_TIME))
        if cart.row.left_on is None:
            for group in (ALL, LIFTED) if cart.row.is_lifted else (ALL,):
                self.now[group][_state_now(cart)] += 1

    def _here(self, cart):
        """Return the cart's days at the site: that of its coming, not that of its going."""
        first = self.scope.from_day or date.min
        return common(_stays(cart), [(first, self.scope.day)])

    def figures(self, lines):
        yield from self._of_register()
        for group in GROUPS:
            for state in BY_GRAVITY:
                yield self._snapshot(group, state)
                yield self._cart_days(group, state)
            yield self._cart_days_in_all(group)
        yield Figure(
            "cart_days_gone",
            _("cart-days of carts that have gone to another site"),
            self.days_gone,
            _("cart-days"),
            _("days here of carts that another site has now; counted, and not judged"),
            "register.csv",
        )

    def _of_register(self):
        lifted = self.now[LIFTED].total()
        counts = {
            "carts": (_("carts in the fleet"), self.now[ALL].total()),
            "carts_lifted": (_("lifted carts in the fleet"), lifted),
            "carts_plain": (_("plain carts in the fleet"), self.now[ALL].total() - lifted),
            "carts_gone": (_("carts that have gone to another site"), self.gone),
        }
        for code, (title, value) in counts.items():
            definition = _("carts of register.csv as of the day, without those that left")
            yield Figure(code, title, value, _("carts"), definition, "register.csv")

    def _snapshot(self, group, state):
        return Figure(
            f"carts_{state}_{group}",
            _("%(state)s on the day, %(group)s") % _words(group, state),
            self.now[group][state],
            _("carts"),
            BY_GRAVITY[state],
            "register.csv",
        )

    def _cart_days(self, group, state):
        return Figure(
            f"cart_days_{state}_{group}",
            _("cart-days %(state)s, %(group)s") % _words(group, state),
            self.days[group][state],
            _("cart-days"),
            f"{BY_GRAVITY[state]}. {ONCE}",
            "rechecks.csv",
        )

    def _cart_days_in_all(self, group):
        return Figure(
            f"cart_days_{group}",
            _("cart-days in all, %(group)s") % {"group": GROUPS[group]},
            self.days[group].total(),
            _("cart-days"),
            _(
                "days of the period on which a cart was in the fleet here; the day on which "
                "it left, or its lift came off, is not counted"
            ),
            "register.csv",
        )


def _state_now(cart):
    """Return the gravest state as the cut leaves it: what ended earlier that day is over."""
    if cart.row.is_tagged:
        return TAGGED
    active = [row for row in cart.rechecks if not row.ended]
    for state in OF_RECHECKS:
        firsts = [_first_day(row, state) for row in active]
        if any(first and first <= cart.scope.day for first in firsts):
            return state
    return ON_TIME


def _words(group, state):
    return {"state": TITLES[state], "group": GROUPS[group]}


def _stays(cart):
    """Return the spans in which the cart was at the scope's site and had not left."""
    scope = cart.scope
    stays = site_stays(cart.facts)
    ends = [scope.day_of(since) - DAY for since, _site in stays[1:]] + [scope.day]
    left = cart.row.left_on - DAY if cart.row.left_on else scope.day
    for (since, site_id), end in zip(stays, ends, strict=True):
        if site_id == scope.site.pk:
            yield scope.day_of(since), min(end, left)


def _lifted(cart):
    for chapter in cart.facts.chapters:
        until = cart.scope.day_of(chapter.until_at)
        yield cart.scope.day_of(chapter.from_at), until - DAY if until else cart.scope.day


def _by_state(cart):
    day = cart.scope.day
    ended = [(row, cart.scope.day_of(row.ended_at) or day) for row in cart.rechecks]
    spans = {TAGGED: list(_tagged(cart))}
    for state in OF_RECHECKS:
        begun = ((_first_day(row, state), end) for row, end in ended)
        spans[state] = [(first, end) for first, end in begun if first]
    return spans


def _first_day(row, state):
    """Return the first day of a state; the day of the limit itself is on time still."""
    if state == LEEWAY:
        return row.due_on and row.due_on + DAY
    return row.stops_on if state == STOPPED else row.late_on


def _tagged(cart):
    backs = {back.tag_id: cart.scope.day_of(back.done_at) for back in cart.facts.hand_backs}
    for tag in cart.facts.tags:
        yield cart.scope.day_of(tag.done_at), backs.get(tag.pk, cart.scope.day)
