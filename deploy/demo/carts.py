"""The demo's carts and how much each is driven: drawn from one seed."""

from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal
from random import Random
from uuid import UUID, uuid5

from deploy.demo.kits import KITS
from deploy.demo.places import RESORT, VILLAGE, Place

SEED = UUID("6f3c0a55-7d0e-4b57-9d3f-3d2b8f0f6a10")
HISTORY_DAYS = 425
STANDARD_TYRE_MM, BIG_TYRE_MM = Decimal("457.2"), Decimal("558.8")
MILES_AN_HOUR_OF_USE = 3.7
COLOURS = ("white", "green", "blue", "red", "sand", "silver")
HOURS_A_DAY = {
    "rental": (2.1, 3.1),
    "staff": (1.5, 2.2),
    "shuttle": (3.6, 4.6),
    "trail": (2.0, 2.9),
    "shore": (1.6, 2.4),
    "owner": (0.5, 0.9),
}


@dataclass
class DemoCart:
    """One cart of the demo: its register, its lift if it has one, its life by day."""

    place: Place
    number: str
    use_class: str
    values: dict
    kit_code: str = ""
    fitted_day: date | None = None
    visits_until: date | None = None
    hours: list[float] = field(default_factory=list)
    start: date | None = None
    big_tyres_day: date | None = None
    swapped_day: date | None = None
    rests: tuple[date, date] | None = None
    joined_day: date | None = None
    left_day: date | None = None
    key: str = ""

    @property
    def cart_id(self) -> UUID:
        return uuid5(SEED, f"{self.place.values['slug']} {self.key or self.number}")

    def is_running(self, day: date) -> bool:
        """Whether it is in the fleet and not at rest."""
        is_here = (self.joined_day or day) <= day < (self.left_day or date.max)
        return is_here and not (self.rests and self.rests[0] <= day < self.rests[1])

    def life_hours(self, day: date) -> float:
        return self.hours[max(0, min((day - self.start).days, len(self.hours) - 1))]

    def hours_shown(self, day: date) -> Decimal:
        """What the hour meter shows: from zero again once it was swapped."""
        life = self.life_hours(day)
        if self.swapped_day and day > self.swapped_day:
            life -= self.life_hours(self.swapped_day)
        return Decimal(f"{life:.1f}")

    def distance_shown(self, day: date) -> Decimal:
        """What the wheel-driven meter shows: less than was run on tyres bigger than its own."""
        before = min(day, self.big_tyres_day or day)
        shown = self.life_hours(before)
        big = float(STANDARD_TYRE_MM / BIG_TYRE_MM)
        shown += (self.life_hours(day) - self.life_hours(before)) * big
        unit = 1.0 if self.place.values["units"] == "inch" else 1.609344
        return Decimal(f"{shown * MILES_AN_HOUR_OF_USE * unit:.1f}")


def the_fleet(today: date) -> list[DemoCart]:
    """Return all carts, lifted ones first at each place; the same for the same day."""
    random = Random(20260)
    start = today - timedelta(days=HISTORY_DAYS)
    carts = _at(RESORT, random, lifted=50, plain=72, first=101)
    carts += _at(VILLAGE, random, lifted=20, plain=40, first=301)
    for cart in carts:
        cart.start = start
        cart.hours = _lived(cart, random, start)
    _fit(carts, random, today)
    return carts


def _at(place, random, *, lifted, plain, first):
    carts = []
    for n in range(lifted + plain):
        use_class = _use_class(place, n)
        seats = random.choice((2, 4, 4, 6))
        values = {
            "number": str(first + n),
            "serial": f"{random.choice('BKLT')}{random.randrange(10**7, 10**8)}",
            "seats": seats,
            "power": random.choice(("flooded", "lithium", "lithium", "petrol")),
            "use_class": use_class,
            "colour": random.choice(COLOURS),
            "model_year": random.randrange(2017, 2025),
            "area": random.choice(place.bays),
            "bay": f"{random.choice('ABCD')}{random.randrange(1, 30)}",
            "tyre": "18x8.5-8",
            "tyre_mm": str(STANDARD_TYRE_MM),
        }
        cart = DemoCart(place, values["number"], use_class, values)
        cart.kit_code = random.choice(KITS).code if n < lifted else ""
        carts.append(cart)
    return carts


def _use_class(place, n):
    if place is VILLAGE:
        return ("owner", "owner", "staff", "shuttle")[n % 4]
    return ("rental", "rental", "rental", "staff", "shuttle", "trail", "shore")[n % 7]


def _lived(cart, random, start):
    low, high = HOURS_A_DAY[cart.use_class]
    a_day = random.uniform(low, high)
    life = random.uniform(80, 900)
    hours = []
    for n in range(HISTORY_DAYS + 1):
        weekend = (start + timedelta(days=n)).weekday() >= 5
        life += a_day * (1.25 if weekend else 0.9) * random.uniform(0.7, 1.3)
        hours.append(life)
    return hours


def rest(cart: DemoCart, from_day: date, until_day: date):
    """Lay a cart's use still between two days."""
    cart.rests = (from_day, until_day)
    first, last = (from_day - cart.start).days, (until_day - cart.start).days
    idle = cart.hours[min(last, len(cart.hours) - 1)] - cart.hours[first]
    for n in range(first, len(cart.hours)):
        cart.hours[n] = cart.hours[first] if n < last else cart.hours[n] - idle


def _fit(carts, random, today):
    """Spread the fittings over the months, the first half early."""
    for place, cart in enumerate(cart for cart in carts if cart.kit_code):
        longest = HISTORY_DAYS - 20
        ago = random.randrange(150, longest) if place % 10 < 6 else random.randrange(12, 150)
        cart.fitted_day = cart.big_tyres_day = today - timedelta(days=ago)
        cart.visits_until = today - timedelta(days=1)
