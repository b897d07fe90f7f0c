"""A small invented place for faults: its people and its lifted carts, with work that is due."""

from dataclasses import dataclass
from datetime import timedelta

from deploy.demo.kits import KITS
from fleet.actions import meters, register, sites, tags
from fleet.actions.first import begin
from fleet.models import Cart, Recheck
from lifts import actions as lifts
from shared.models import Person, Role, Site, new_id

PASSWORD = "a-word-for-trials-only"
KIND = "grease-round"
FITTED_DAYS_AGO = 30


@dataclass
class Yard:
    """A site with a manager, mechanics and carts, each with a recheck of KIND ordered for today."""

    site: Site
    manager: Person
    mechanics: list[Person]
    carts: list[Cart]

    @property
    def people(self) -> list[Person]:
        return [self.manager, *self.mechanics]

    def ordered(self):
        """The rechecks of KIND that were ordered, whatever became of them."""
        carts = [cart.pk for cart in self.carts]
        return Recheck.objects.filter(cart__in=carts, kind_code=KIND, rule_code="ordered")


def make(
    at, *, carts: int, mechanics: int = 1, slug: str = "yard", order=True, password=PASSWORD
) -> Yard:
    """Found the place a month ago; order a recheck of every cart for today.

    Without a ``password`` nobody can sign in, and many people are made much sooner.
    """
    begun = at - timedelta(days=FITTED_DAYS_AGO)
    values = {"slug": slug, "name": "Yard", "zone": "Etc/UTC", "units": "inch", "digest_hour": 6}
    if Person.objects.exists():
        manager = Person(email=f"manager@{slug}.example", name="Mina")
        site = sites.found_site(values, manager, at=begun, password=password)
    else:
        who = {"name": "Mina", "email": f"manager@{slug}.example", "password": password}
        site, manager = begin(values, at=begun, **who)
    yard = Yard(site, manager, [], [])
    yard.mechanics = [_mechanic(yard, n, begun, password) for n in range(mechanics)]
    kit = lifts.add_kit(site, KITS[0].value(), by=manager, at=begun)
    yard.carts = _carts(yard, kit, carts, begun)
    if order:
        for cart in yard.carts:
            tags.order_recheck(
                cart, KIND, site.day(at), reason="seen rolling on", by=manager, at=at
            )
    return yard


def _mechanic(yard, number, at, password):
    person = sites.add_person(
        f"mechanic{number}@{yard.site.slug}.example", f"Mo {number}", yard.site, password=password
    )
    day = yard.site.day(at)
    sites.give_role(yard.site, person, Role.MECHANIC, day, None, by=yard.manager, at=at)
    return person


def _carts(yard, kit, count, at):
    values = {new_id(): {"number": str(100 + n), "use_class": "rental"} for n in range(count)}
    register.join_carts(yard.site, values, by=yard.manager, at=at)
    rows = register.rows(list(values))
    for cart in rows:
        meters.fit_meter(cart, "hours", 100, unit="h", by=yard.manager, at=at)
        lifts.fit(cart, kit, by=yard.manager, at=at)
    return list(Cart.objects.filter(pk__in=values).order_by("number"))
