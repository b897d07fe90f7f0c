"""When the demo's mechanics come to a lifted cart, and what they do then."""

from dataclasses import dataclass
from datetime import date, timedelta

CYCLE_DAYS = {"rental": 27, "trail": 27, "shuttle": 19, "staff": 44, "shore": 22}
YEAR_DAYS = 354
ALIGN_HOURS, HUB_DAYS = 203, 148


@dataclass(frozen=True)
class Call:
    """One visit due by the story: ``work`` names what is done, ``also`` parts beside it."""

    day: date
    work: str
    also: tuple[str, ...] = ()


def calls_of(cart) -> list[Call]:
    """Return a cart's visits after its fitting, as a well-run shop makes them."""
    fitted = cart.fitted_day
    calls = [Call(fitted, "close-out")]
    calls.append(Call(_first_day(cart, 3.0, most_days=2), "first"))
    settle = _first_day(cart, 21.0, most_days=29, least=13.0)
    second = _first_day(cart, 88.0, most_days=88, least=52.0)
    calls += [Call(settle, "settle"), Call(second, "second-settle")]
    calls += _yearly(second, cart) if cart.use_class == "owner" else _cycle(second, cart)
    return [call for call in calls if call.day <= cart.visits_until]


def _first_day(cart, hours, *, most_days, least=0.0):
    """Return the first day with that use since the fitting, or the most days with the least."""
    base = cart.life_hours(cart.fitted_day)
    for n in range(1, 425):
        day = cart.fitted_day + timedelta(days=n)
        run = cart.life_hours(day) - base
        if run >= hours or (n >= most_days and run >= least):
            return day
    return cart.fitted_day + timedelta(days=425)


def day_after_hours(cart, day: date, hours: float) -> date:
    """Return the first day by which a cart has run so many hours since a day."""
    since, last = day, cart.start + timedelta(days=len(cart.hours))
    while day < last and cart.life_hours(day) - hours < cart.life_hours(since):
        day += timedelta(days=1)
    return day


def _yearly(second, cart):
    return [Call(second + timedelta(days=YEAR_DAYS), "everything")]


def _cycle(second, cart):
    """Go round in steps; the yearly visit does everything and begins the steps anew."""
    step = timedelta(days=CYCLE_DAYS[cart.use_class])
    yearly = cart.fitted_day + timedelta(days=YEAR_DAYS)
    calls, day, n = [], second + step, 1
    last = {"camber-toe": second, "hub-play": second}
    while day <= cart.visits_until:
        if day >= yearly:
            calls.append(Call(yearly, "everything"))
            last = dict.fromkeys(last, yearly)
            day, n, yearly = yearly + step, 1, yearly + timedelta(days=YEAR_DAYS)
            continue
        also = tuple(part for part in last if _is_wanted(cart, part, last[part], day))
        last |= dict.fromkeys(also, day)
        calls.append(Call(day, "joints and grease" if n % 3 == 0 else "grease", also))
        day, n = day + step, n + 1
    return calls


def _is_wanted(cart, part, since, day):
    if part == "hub-play":
        return (day - since).days >= HUB_DAYS
    return cart.life_hours(day) - cart.life_hours(since) >= ALIGN_HOURS
