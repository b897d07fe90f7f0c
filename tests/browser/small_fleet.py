"""A small fleet through the actions: a cart in each condition, and one of each role."""

from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path

from django.core.files.base import ContentFile
from django.test import Client
from django.urls import reverse

from fleet.actions import bundles, imports, jobs, meters, register, sites, tags
from fleet.kinds import Cut
from fleet.models import Cart
from lifts.actions import fit
from shared.models import Person, Role, Site
from tests.factories import MORNING
from tests.lift_factories import a_cart, a_kit, a_site
from tests.stability_factories import a_measure
from tests.visiting import EVERYTHING, parts_of, visit

PASSWORD = "four words in a row"
HOUR, DAY = timedelta(hours=1), timedelta(days=1)
NOW = MORNING + 24 * DAY
PAST = "?happened=2026-03-20T14:05&known=2026-03-20T14:05"
SHEET = b"Cart,Bay,Wheel nut size\r\n21,A1,19\r\n22,A2,19\r\n"


@dataclass
class SmallFleet:
    """Where the carts stand; ``cookies`` are the session of each role, ``urls`` the pages."""

    site: Site
    people: dict[str, Person]
    cookies: dict[str, str]
    urls: dict[str, str]
    cart: Cart
    other: Cart
    media: Path | None = None


def found():
    """Write the fleet down and return it."""
    site, manager = a_site(name="Harbour Inn with quite a long name", units="inch")
    people = {role: _person(site, manager, role) for role in Role.values if role != Role.MANAGER}
    people[Role.MANAGER] = manager
    kit = a_kit(site, manager)
    carts = {number: _lifted(site, manager, number, kit) for number in ("7", "8", "9", "10")}
    carts["11"] = a_cart(site, manager, "11", bay="Pier row 11", seats=4)
    closed = _closed_out(kit, [carts["7"], carts["9"], carts["10"]], people[Role.MECHANIC])
    _in_use(carts, manager)
    tag = tags.tag_cart(carts["8"], "Rim bent at the kerb", by=manager, at=NOW - DAY)
    register.change_cart(carts["10"], "laid up", {}, reason="Winter", by=manager, at=NOW - DAY)
    run = _looked_at(site, manager)
    named = {"kit": kit.pk, "tag": tag.pk, "run": run.pk, "round": closed[0].pk}
    named["bundle"] = _bundled(site, manager).pk
    named |= {"person": people[Role.DESK].pk, "surveyor": people[Role.SURVEYOR].pk}
    return SmallFleet(
        site,
        people,
        {role: _cookie(person) for role, person in people.items()},
        urls_of(site, carts, **named),
        cart=carts["7"],
        other=carts["9"],
    )


def _person(site, manager, role):
    person = sites.add_person(f"{role}@harbour.example", f"{role} Ash", site, password=PASSWORD)
    today = site.day(MORNING)
    last = today + 90 * DAY if role == Role.SURVEYOR else None
    sites.give_role(site, person, role, today, last, by=manager, at=MORNING)
    return person


def _lifted(site, manager, number, kit):
    cart = a_cart(site, manager, number, bay=f"Pier row {number}", seats=4)
    meters.fit_meter(cart, "hours", 412, unit="h", by=manager, at=MORNING)
    meters.fit_meter(cart, "distance", 1850, unit="mi", by=manager, at=MORNING)
    fit(cart, kit, by=manager, at=MORNING)
    return Cart.objects.get(pk=cart.pk)


def _closed_out(kit, carts, by):
    at = MORNING + HOUR
    return [visit(cart, parts_of(kit, EVERYTHING), by=by, at=at).round for cart in carts]


def _in_use(carts, by):
    """Read the meters of two carts, so that one is due and one is late; the desk reports."""
    for number, hours_a_day in (("7", 1), ("9", 4)):
        for day in (7, 14, 21):
            at = MORNING + day * DAY
            meters.add_reading(carts[number], hours=412 + day * hours_a_day, by=by, at=at)
    a_measure(carts["7"], by, at=MORNING + DAY)
    tags.report(carts["7"], "kerb hit", note="Left front", by=by, at=NOW - HOUR)


def _looked_at(site, manager):
    file = ContentFile(SHEET).read()
    run = imports.begin_run(site, "carts", "fleet.csv", file, by=manager, at=NOW - HOUR)
    jobs.run("import", run.pk, now=lambda: NOW - HOUR)
    return run


def _bundled(site, manager):
    bundle = bundles.ask(site, Cut(NOW, NOW), by=manager, at=NOW)
    jobs.run("bundle", bundle.pk, now=lambda: NOW)
    return bundle


def _cookie(person):
    client = Client()
    client.force_login(person)
    return client.cookies["sessionid"].value


def urls_of(site, carts, **named):
    """Return the address of each page that a menu does not lead to."""
    cart, tagged = carts["7"].pk, named["tag"]

    def at(name, *args):
        return reverse(name, args=[site.slug, *args])

    of_cart = ["cart-detail", "round-create", "round-sheet", "tag-create", "fitting-create"]
    of_cart += ["wheel-off-create", "reading-create", "cart-note", "cart-meter", "cart-tyres"]
    of_cart += ["cart-lay-up", "cart-register", "cart-order", "cart-move", "cart-leave"]
    of_cart += [
        "cart-joining",
        "desk-cart",
        "speed-class-claim",
        "stability-detail",
        "stability-create",
    ]
    return {
        **{name: at(name, cart) for name in of_cart},
        **{name: at(name) for name in ("board-sheet", "desk-sheet", "plate-sheet")},
        **{name: at(name) for name in ("person-create", "kit-create", "cart-create")},
        **{name: at(name) for name in ("speed-class-list", "speed-class-create")},
        "speed-class-usual": at("speed-class-usual"),
        "alignment-spec-usual": at("alignment-spec-usual"),
        "cart of none": at("cart-detail", carts["11"].pk),
        "desk of a tagged cart": at("desk-cart", carts["8"].pk),
        "round-detail": at("round-detail", cart, named["round"]),
        "tag-card": at("tag-card", tagged),
        "hand-back": at("hand-back", tagged),
        "kit-detail": at("kit-detail", named["kit"]),
        "label-card": at("label-card", named["kit"]),
        **{name: at(name) + PAST for name in ("past-board", "past-desk")},
        "past-cart": at("past-cart", cart) + PAST,
        "no question": at("past-cart", cart),
        "import-run": at("import-run", named["run"]),
        "bundle-detail": at("bundle-detail", named["bundle"]),
        "person-role": at("person-role", named["person"]),
        "surveyor's role": at("person-role", named["surveyor"]),
        "survey": at("survey"),
        "surveyor-code": reverse("surveyor-code"),
        "rule-change": at("rule-change", 1, 0),
        "account": reverse("account"),
        "password-change": reverse("password-change"),
    }
