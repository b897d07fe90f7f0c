"""Every address, asked for by every role, at the own site and at another.

An address without a row in PAGES fails: who adds one says here who may see it.
"""

import io
from dataclasses import dataclass
from datetime import timedelta
from functools import cached_property
from itertools import product

import pytest
from django.contrib.auth.tokens import default_token_generator
from django.db import transaction
from django.test import Client
from django.urls import get_resolver, reverse
from django.utils.encoding import force_bytes
from django.utils.http import urlsafe_base64_encode
from PIL import Image

from fleet.actions import bundles, jobs, sites
from fleet.actions.calendars import make_feed
from fleet.actions.imports import begin_run
from fleet.actions.register import change_cart
from fleet.actions.rounds import TakenDown, save_round
from fleet.actions.tags import tag_cart
from fleet.doctor.watch import watch
from fleet.jobs import kinds as JOB_KINDS
from fleet.kinds import Cut
from lifts.actions import fit
from lifts.actions.extra_joints import see_joint, take_up_joint
from lifts.actions.wrenches import add_event
from lifts.kit_sheets import FOLDER
from shared import clock, papers, photos
from shared.facts import record
from shared.models import Checkpoint, Photo, Role, new_id
from shared.sealing import make_checkpoint
from tests.alignment_sheets import a_sheet
from tests.factories import MORNING, PersonFactory
from tests.lift_factories import a_cart, a_kit, a_site, joint_value, with_role
from tests.stability_factories import a_measure
from tests.wrench_factories import a_certificate, a_wrench

pytestmark = pytest.mark.django_db

MANAGER, MECHANIC, DESK, SURVEYOR = Role.values
ALL = (MANAGER, MECHANIC, DESK, SURVEYOR)
SHOP = (MANAGER, MECHANIC)
FLOOR = (MANAGER, MECHANIC, DESK)
READERS = (MANAGER, MECHANIC, SURVEYOR)
OUTWARD = (MANAGER, SURVEYOR)
METHODS, WRONG_METHOD = ("get", "post"), 405
BOTH = "desk here and manager elsewhere"
ANYBODY, SIGNED_IN, NOBODY = "anybody", "whoever is signed in", "nobody once there is a person"


@dataclass(frozen=True)
class Page:
    """Who may reach an address; ``names`` says which thing of the world each word stands for."""

    roles: tuple[str, ...] | str
    names: tuple[tuple[str, str], ...] = ()


def page(*roles, **names):
    return Page(roles, tuple(names.items()))


PAGES = {
    "home": Page(ANYBODY),
    "sign-in": Page(ANYBODY),
    "sign-out": Page(ANYBODY),
    "password-reset": Page(ANYBODY),
    "password-sent": Page(ANYBODY),
    "password-set": Page(ANYBODY, (("uidb64", "uid"), ("token", "token"))),
    "surveyor-link": Page(ANYBODY, (("token", "token"),)),
    "surveyor-code": Page(ANYBODY),
    "first-site": Page(NOBODY),
    "account": Page(SIGNED_IN),
    "password-change": Page(SIGNED_IN),
    "reminders": Page(SIGNED_IN),
    "calendar": Page(SIGNED_IN),
    "calendar-make": Page(SIGNED_IN),
    "calendar-withdraw": Page(SIGNED_IN),
    # whoever holds its secret
    "calendar-feed": Page(ANYBODY, (("token", "calendar_secret"),)),
    "site-home": page(*ALL),
    "site-change": page(MANAGER),
    "people": page(MANAGER),
    "person-create": page(MANAGER),
    "person-role": page(MANAGER, pk="person"),
    "role-end": page(MANAGER, pk="person"),
    "person-mail": page(MANAGER, pk="person"),
    "surveyor-link-make": page(MANAGER, pk="surveyor"),
    "surveyor-link-withdraw": page(MANAGER, pk="surveyor"),
    "surveyor-list": page(MANAGER),
    "survey": page(*OUTWARD),
    "rule-book": page(*READERS),
    "rule-book-version": page(*READERS, version="version"),
    "rule-change": page(MANAGER, version="version", place="place"),
    "book-change": page(MANAGER, version="version"),
    "book-take-up": page(MANAGER, version="version"),
    "rule-drop": page(MANAGER, version="version", place="place"),
    "tag-list": page(*FLOOR),
    "tag-card": page(*FLOOR, pk="tag"),
    "tag-create": page(*SHOP, pk="cart"),
    # a mechanic only when named to hand back
    "hand-back": page(MANAGER, pk="tag"),
    "board": page(MANAGER),
    "board-sheet": page(MANAGER),
    "cart-list": page(*READERS),
    "cart-create": page(MANAGER),
    "cart-detail": page(*READERS, pk="cart"),
    "past-board": page(*OUTWARD),
    "past-desk": page(*OUTWARD),
    "past-cart": page(*OUTWARD, pk="cart"),
    "reading-create": page(*SHOP, pk="cart"),
    "entry-strike": page(MANAGER, pk="cart", entry="tag"),
    "cart-note": page(*SHOP, pk="cart"),
    "cart-meter": page(*SHOP, pk="cart"),
    "cart-tyres": page(*SHOP, pk="cart"),
    "cart-lay-up": page(MANAGER, pk="cart"),
    "cart-wake": page(*SHOP, pk="resting_cart"),
    "cart-joining": page(MANAGER, pk="cart"),
    "cart-register": page(MANAGER, pk="cart"),
    "cart-order": page(MANAGER, pk="cart"),
    "cart-move": page(MANAGER, pk="cart"),
    "cart-leave": page(MANAGER, pk="cart"),
    "desk": page(*FLOOR),
    "desk-sheet": page(*FLOOR),
    "desk-cart": page(*FLOOR, pk="cart"),
    "report-create": page(*FLOOR, pk="cart"),
    "import": page(MANAGER),
    "import-sample": page(MANAGER, sheet="sheet"),
    "import-run": page(MANAGER, pk="import_run"),
    "import-confirm": page(MANAGER, pk="import_run"),
    "import-drop": page(MANAGER, pk="import_run"),
    "bundle-list": page(*OUTWARD),
    "bundle-create": page(*OUTWARD),
    "bundle-detail": page(*OUTWARD, pk="bundle"),
    "bundle-file": page(*OUTWARD, pk="bundle"),
    "bundle-cancel": page(*OUTWARD, pk="bundle"),
    "bundle-check": page(*OUTWARD, suffix="suffix"),
    "seal": page(*OUTWARD),
    "checkpoint-file": page(*OUTWARD, pk="checkpoint"),
    "restore-create": page(MANAGER),
    "service": page(MANAGER),
    # for monitors: codes alone, and figures for who has the token
    "health": Page(ANYBODY),
    "metrics": Page(NOBODY),
    "mails": page(MANAGER),
    "mails-again": page(MANAGER),
    "sample": page(*OUTWARD),
    "plate": page(*FLOOR, token="plate"),
    "plate-sheet": page(*SHOP),
    "photo": page(*READERS, pk="photo"),
    "round-start": page(*SHOP),
    "round-create": page(*SHOP, pk="cart"),
    "round-sheet": page(*SHOP, pk="cart"),
    "round-detail": page(*READERS, cart="cart", pk="round"),
    "round-countersign": page(MANAGER, cart="cart", pk="round"),
    "round-strike": page(MANAGER, cart="cart", pk="round"),
    "round-move": page(MANAGER, cart="cart", pk="round"),
    "kit-list": page(*READERS),
    "kit-create": page(MANAGER),
    "kit-detail": page(*READERS, pk="kit"),
    "kit-replace": page(MANAGER, pk="kit"),
    "kit-sheet": page(*READERS, pk="kit"),
    "kit-joint-map": page(*READERS, pk="kit"),
    "joint-map": page(*READERS, cart="lifted_cart"),
    "joint-seen-list": page(MANAGER),
    "joint-seen-create": page(*SHOP, cart="lifted_cart"),
    "joint-take-up": page(MANAGER, cart="lifted_cart", pk="joint_seen"),
    "joint-decline": page(MANAGER, cart="lifted_cart", pk="joint_seen"),
    "joint-end": page(MANAGER, cart="lifted_cart", pk="extra_joint"),
    "label-card": page(*READERS, pk="kit"),
    "label-list": page(*OUTWARD),
    "wrench-list": page(*READERS),
    "wrench-create": page(MANAGER),
    "wrench-detail": page(*READERS, pk="wrench"),
    "wrench-change": page(MANAGER, pk="wrench"),
    "wrench-certificate": page(MANAGER, pk="wrench"),
    "wrench-check": page(*SHOP, pk="wrench"),
    "wrench-hurt": page(*SHOP, pk="wrench"),
    "wrench-withdraw": page(MANAGER, pk="wrench"),
    "wrench-card": page(*READERS, pk="wrench"),
    "sister-list": page(MANAGER, cart="cart"),
    "sister-order": page(MANAGER, cart="cart"),
    "found-out": page(*READERS, pk="wrench", finding="drop"),
    "found-out-order": page(MANAGER, pk="wrench", finding="drop"),
    "wrench-strike": page(MANAGER, pk="wrench", entry="certificate"),
    "wrench-file": page(*READERS, pk="wrench", entry="certificate"),
    "speed-class-list": page(*READERS),
    "speed-class-create": page(MANAGER),
    "speed-class-usual": page(MANAGER),
    "speed-class-change": page(MANAGER, code="speed_class"),
    "speed-class-claim": page(MANAGER, cart="cart"),
    "alignment-spec-list": page(*READERS),
    "alignment-spec-usual": page(MANAGER),
    "alignment-spec-change": page(MANAGER, code="borne_kit"),
    "stability-detail": page(*READERS, cart="cart"),
    "stability-create": page(*SHOP, cart="cart"),
    "stability-correct": page(*SHOP, cart="cart", pk="stability"),
    "camber-toe-detail": page(*READERS, cart="cart", pk="camber_toe"),
    "camber-toe-list": page(*READERS, cart="cart"),
    "camber-toe-measured": page(*READERS),
    "camber-toe-kit": page(*READERS, code="borne_kit"),
    "fitting-create": page(*SHOP, cart="cart"),
    "fitting-compare": page(*READERS, cart="refitted"),
    "fitting-correct": page(*SHOP, cart="cart", pk="fitting"),
    "fitting-remove": page(*SHOP, cart="cart", pk="fitting"),
    "wheel-off-create": page(*SHOP, cart="cart"),
    "told-count": page(MANAGER, cart="cart"),
    "told-strike": page(MANAGER, cart="cart", pk="told_day"),
}
# words that stand for no row of the site
NO_ROW = {"version", "place", "sheet", "suffix", "speed_class"}


class World:
    """A site and one thing of each kind at it, each made when an address first needs it."""

    def __init__(self, slug):
        self.site, self.manager = a_site(slug)
        self.slug = slug

    @cached_property
    def person(self):
        return with_role(self.site, self.manager)

    @cached_property
    def surveyor(self):
        person, today = PersonFactory(), self.site.day(MORNING)
        who = {"by": self.manager, "at": MORNING}
        sites.give_role(self.site, person, SURVEYOR, today, today + timedelta(days=90), **who)
        return person

    @cached_property
    def cart(self):
        return a_cart(self.site, self.manager, number=f"{self.slug}-7")

    @cached_property
    def resting_cart(self):
        cart = a_cart(self.site, self.manager, number=f"{self.slug}-8")
        change_cart(cart, "laid up", {}, reason="Winter", by=self.manager, at=MORNING)
        return cart

    @cached_property
    def kit(self):
        file = io.BytesIO(b"%PDF-1.7 sheet of " + self.slug.encode())
        file.name = f"sheet of {self.slug}.pdf"
        sheet = papers.take(file, FOLDER)
        about = {"sheet_name": sheet.name, "sheet_sha256": sheet.sha256}
        return a_kit(self.site, self.manager, name=f"Kit of {self.slug}", **about)

    @cached_property
    def wrench(self):
        return a_wrench(self.site, self.manager, name=f"TW {self.slug}")

    @cached_property
    def certificate(self):
        file = io.BytesIO(b"%PDF-1.7 of " + self.slug.encode())
        file.name = "certificate.pdf"
        paper = papers.take(file, "certificates")
        about = {"file_name": paper.name, "file_sha256": paper.sha256}
        return a_certificate(self.wrench, self.manager, MORNING, **about)

    @cached_property
    def drop(self):
        return add_event(self.wrench, "dropped", by=self.manager, at=MORNING)

    @cached_property
    def fitting(self):
        return fit(self.cart, self.kit, by=self.manager, at=MORNING)

    @cached_property
    def refitted(self):
        cart = a_cart(self.site, self.manager, number=f"{self.slug}-9")
        for hours in (0, 1):
            fit(cart, self.kit, by=self.manager, at=MORNING + timedelta(hours=hours))
        return cart

    @cached_property
    def lifted_cart(self):
        assert self.fitting
        return self.cart

    @property
    def borne_kit(self):
        assert self.lifted_cart
        return self.kit.code

    @cached_property
    def joint_seen(self):
        about = {"name": f"tow eye of {self.slug}", "family": "other-joints"}
        return see_joint(self.lifted_cart, about, by=self.manager, at=MORNING)

    @cached_property
    def extra_joint(self):
        about = {"name": f"guard of {self.slug}", "family": "other-joints"}
        seen = see_joint(self.lifted_cart, about, by=self.manager, at=MORNING)
        return take_up_joint(seen, joint_value(**about), by=self.manager, at=MORNING)

    @cached_property
    def stability(self):
        return a_measure(self.cart, self.manager)

    @cached_property
    def camber_toe(self):
        return a_sheet(self.round, note=f"Gravel at {self.slug}")

    @cached_property
    def told_day(self):
        who = {"by": self.manager, "at": MORNING}
        return change_cart(self.cart, "told counts", {}, reason=f"Log of {self.slug}", **who)

    @cached_property
    def tag(self):
        return tag_cart(self.cart, f"Rim bent at {self.slug}", by=self.manager, at=MORNING)

    @cached_property
    def round(self):
        visit = TakenDown(new_id(), opened_at=MORNING, note=f"Quiet day at {self.slug}")
        return save_round(self.cart, visit, by=self.manager, at=MORNING).round

    @cached_property
    def photo(self):
        file = io.BytesIO()
        Image.new("RGB", (40, 30), "grey").save(file, "JPEG")
        file.seek(0)
        about = {"site": self.site, "shows": Photo.Shows.OTHER, "by": self.manager}
        return record(photos.take(file, **about), at=MORNING).fact

    @property
    def plate(self):
        return self.cart.plate

    @property
    def uid(self):
        return urlsafe_base64_encode(force_bytes(self.manager.pk))

    @property
    def token(self):
        return default_token_generator.make_token(self.manager)

    @cached_property
    def calendar_secret(self):
        return make_feed(self.manager, at=MORNING)

    @cached_property
    def import_run(self):
        name = f"fleet of {self.slug}.csv"
        return begin_run(
            self.site, "carts", name, b"number\n", by=self.manager, at=MORNING, start_day=None
        )

    @cached_property
    def bundle(self):
        cut = Cut(MORNING, MORNING)
        bundle = bundles.ask(self.site, cut, by=self.manager, at=MORNING)
        claimed = jobs.claim(JOB_KINDS["bundle"], bundle.pk, at=MORNING)
        claimed.finish(**bundles.run(claimed.job, at=MORNING, progress=claimed))
        return bundle

    @cached_property
    def checkpoint(self):
        assert self.cart
        return make_checkpoint(self.site, at=MORNING, cause=Checkpoint.Cause.DAILY)

    version, place, sheet = 1, 0, "carts"
    suffix = "py"
    speed_class = "golf-car"

    def word(self, name):
        thing = getattr(self, name)
        return getattr(thing, "pk", thing)


@pytest.fixture(autouse=True)
def quiet_watch(monkeypatch):
    """The monitor's look is a thread's, which sees nothing of a test's transaction."""
    monkeypatch.setattr(watch, "signs", lambda at: [])


@pytest.fixture
def harbour():
    return World("harbour")


@pytest.fixture
def osprey():
    """The other site: nothing of it may ever show; everything of it has its name."""
    return World("osprey")


def url_names(resolver=None):
    """Yield the name of every address of the tool."""
    for pattern in (resolver or get_resolver()).url_patterns:
        if hasattr(pattern, "url_patterns"):
            yield from url_names(pattern)
        else:
            yield pattern.name


def address(name, slug, world):
    """Return the address of a page at the site of that slug, its things taken from a world."""
    words = {word: world.word(thing) for word, thing in PAGES[name].names}
    at_site = isinstance(PAGES[name].roles, tuple) and name != "plate"
    return reverse(name, kwargs=words | ({"site": slug} if at_site else {}))


def actors(here, elsewhere):
    """Return (who, person, role at ``here``) of everybody who may come by."""
    site, manager = here.site, here.manager
    past = site.day(MORNING)
    expired, both, locked_out = PersonFactory(), PersonFactory(), with_role(site, manager)
    locked_out.is_active = False
    locked_out.save()

    def give(at, person, role, to_day):
        sites.give_role(at.site, person, role, past, to_day, by=at.manager, at=MORNING)

    give(here, expired, SURVEYOR, past + timedelta(days=1))
    give(here, both, DESK, None)
    give(elsewhere, both, MANAGER, None)
    return [
        *((role, with_role(site, manager, role), role) for role in ALL),
        (BOTH, both, DESK),
        ("surveyor whose role has ended", expired, None),
        ("manager of another site", elsewhere.manager, None),
        ("one who is locked out", locked_out, "anonymous"),
        ("anonymous", None, "anonymous"),
    ]


def outcome(response):
    """Return what became of a request: let in, sign in, or not found."""
    if response.status_code == 404:
        return "not found"
    if response.status_code == 302 and response.url.startswith("/sign-in/?next="):
        return "sign in"
    assert response.status_code in (200, 302, 303, 400, 405, 409), response.status_code
    return "let in"


def expected(policy, role):
    if policy == ANYBODY:
        return "let in"
    if policy == NOBODY:
        return "not found"
    if role == "anonymous":
        return "sign in"
    return "let in" if policy == SIGNED_IN or role in policy else "not found"


def body_of(response):
    streamed = response.streaming
    return b"".join(response.streaming_content) if streamed else response.content


def asked(person, method, url):
    """Ask as a person, undoing what it does; return the outcome and the body."""
    client = Client()
    with transaction.atomic():
        if person is not None:
            client.force_login(person)
        response = getattr(client, method)(url)
        found = response, outcome(response), body_of(response)
        transaction.set_rollback(True)
    return found


def test_every_address_has_its_row_and_every_row_its_address():
    assert set(url_names()) == set(PAGES)


@pytest.mark.parametrize("name", sorted(PAGES))
def test_own_site_lets_in_whom_the_table_names(harbour, osprey, name):
    url = address(name, "harbour", harbour)
    # the other site holds one of each as well
    address(name, "osprey", osprey)

    for (who, person, role), method in product(actors(harbour, osprey), METHODS):
        response, became, body = asked(person, method, url)

        if response.status_code != WRONG_METHOD:
            assert became == expected(PAGES[name].roles, role), (who, method)
        if person != osprey.manager and who != BOTH:
            assert b"sprey" not in body, (who, method)


SITE_PAGES = sorted(name for name, row in PAGES.items() if isinstance(row.roles, tuple))


@pytest.mark.parametrize("name", SITE_PAGES)
def test_another_site_and_its_things_are_not_found(harbour, osprey, name):
    urls = [address(name, "osprey", osprey)]
    if {thing for _word, thing in PAGES[name].names} - NO_ROW:
        urls.append(address(name, "harbour", osprey))

    people = [with_role(harbour.site, harbour.manager, role) for role in ALL]
    for (role, person), method, url in product(zip(ALL, people, strict=True), METHODS, urls):
        response, became, body = asked(person, method, url)

        assert response.status_code == WRONG_METHOD or became == "not found", (role, method, url)
        assert b"sprey" not in body.replace(url.encode(), b"")


LISTS = ["cart-list", "people", "rule-book", "tag-list", "kit-list", "wrench-list", "round-start"]


@pytest.mark.parametrize("name", LISTS)
def test_lists_as_files_hold_no_row_of_another_site(harbour, osprey, name):
    for world in (harbour, osprey):
        for thing in ("person", "cart", "kit", "wrench", "fitting", "tag", "round"):
            world.word(thing)
    url = address(name, "harbour", harbour) + "?file=csv"

    response, became, body = asked(harbour.manager, "get", url)

    assert became == "let in"
    assert response["Content-Type"].startswith("text/csv")
    assert body.count(b"\r\n") >= 1
    assert b"sprey" not in body


def test_the_clock_is_past_the_day_on_which_the_roles_begin():
    assert clock.now() > MORNING + timedelta(days=2)
