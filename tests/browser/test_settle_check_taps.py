"""A settle check on a phone, thumb by thumb: 22 joints, 8 grease points, the label."""

import io
import sys
from datetime import timedelta

import pytest
from django.test import Client
from PIL import Image
from playwright.sync_api import expect

from fleet.actions import meters
from fleet.models import Cart, Round
from lifts.actions import fit
from lifts.kit_lines import read_joints, read_points
from lifts.models import GreaseStroke, LabelCheck, Look
from shared import clock
from shared.models import Membership, Photo, Role
from tests.browser.conftest import PHONE, listened
from tests.factories import MORNING
from tests.lift_factories import a_cart, a_kit, a_site, with_role
from tests.round_factories import a_round
from tests.wrench_factories import a_good_wrench

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

MOST_TAPS = 60
PHOTO_TAPS = 3  # the field, the shutter, "use this one"
SETTLE_DAY = 29
WHEELS = ("left front", "left rear", "right rear", "right front")
SIDES = ("left", "right")
PINNED = ("tie-rod end", "king pin nut", "hub nut")
POINTS = "\n".join(
    ["point | count | marks", *(f"{side} {n} bushing | 2 |" for side in SIDES for n in "1234")]
)


def joint_lines():
    yield "joint | family | wheel | count | thread | grade | target | order | locking | marks"
    for wheel in WHEELS:
        yield f"{wheel} lugs | lugs | {wheel} | 4 | 1/2-20 | 5 | 75 N.m | star | | critical"
    for side in SIDES:
        yield f"{side} tie-rod end | steering-joints | | 1 | taper | | 40 N.m | | pin | critical"
        yield f"{side} king pin nut | steering-joints | | 1 | M12 | 8.8 | 50 N.m | | pin | critical"
        yield f"{side} hub nut | hub-nuts | | 1 | spindle | | 68 N.m | | pin | critical"
        yield f"{side} U-bolts | u-bolts | | 4 | M10 | 8.8 | 34 N.m | crosswise | | weight on"
        yield f"{side} shocks | other-joints | | 2 | M10 | 8.8 | 30 N.m | | | "
        yield f"{side} spring end bolts | other-joints | | 2 | M10 | 8.8 | 25 N.m | | | weight on"
        yield f"{side} shackle bolts | other-joints | | 2 | M10 | 8.8 | 25 N.m | | nylon insert | "
        yield f"{side} arm bolts | other-joints | | 2 | M10 | 8.8 | 35 N.m | | | critical"
    yield "steering rack to frame | steering-joints | | 2 | M10 | 8.8 | 30 N.m | | | critical"
    yield "front frame | other-joints | | 4 | M10 | 8.8 | 40 N.m | | | critical"


class Thumb:
    """Presses on a phone and counts: each touch, each digit, each step of a camera."""

    def __init__(self, page):
        self.page, self.taps = page, 0

    def press(self, target):
        target.tap()
        self.taps += 1

    def label_of(self, name, value=None):
        """Return what a thumb presses for a choice or a tick: its label."""
        chosen = f'[name="{name}"]' + (f'[value="{value}"]' if value else "")
        return self.page.locator(f"label:has({chosen}), {chosen} + label").first

    def choose(self, name, value=None):
        self.press(self.label_of(name, value))

    def type(self, label, digits):
        self.press(self.page.get_by_label(label))
        self.page.keyboard.type(digits)
        self.taps += len(digits)

    def photograph(self, name, content):
        with self.page.expect_file_chooser() as chooser:
            self.page.locator(f'[name="{name}"]').tap()
        file = {"name": f"{name}.jpg", "mimeType": "image/jpeg", "buffer": content}
        chooser.value.set_files(files=[file])
        self.taps += PHOTO_TAPS


@pytest.fixture
def cart(monkeypatch):
    """A cart in its settle check, closed out a month before, its mechanic in a new shift."""
    now = MORNING + timedelta(days=SETTLE_DAY, hours=2)
    monkeypatch.setattr(clock, "now", lambda: now)
    site, manager = a_site(units="metric")
    a_good_wrench(site, manager)
    lines = {"joints": read_joints("\n".join(joint_lines()), "N.m"), "points": read_points(POINTS)}
    kit = a_kit(site, manager, **lines)
    cart = a_cart(site, manager, "7", use_class="rental")
    who = {"by": manager, "at": MORNING}
    meters.fit_meter(cart, "hours", 412, unit="h", **who)
    meters.fit_meter(cart, "distance", 1850, unit="mi", **who)
    fit(cart, kit, hub_bearing="sealed", **who)
    a_round(cart, by=manager, at=MORNING + timedelta(hours=1))
    read_at = MORNING + timedelta(days=20)
    meters.add_reading(cart, hours=430, distance=1920, by=manager, at=read_at)
    return Cart.objects.get(pk=cart.pk)


@pytest.fixture
def page(chromium, live_server, cart):
    client = Client()
    client.force_login(with_role(cart.site, manager_of(cart.site), Role.MECHANIC))
    context = chromium.new_context(
        viewport=PHONE,
        base_url=live_server.url,
        has_touch=True,
        is_mobile=True,
        reduced_motion="reduce",
    )
    session = {"name": "sessionid", "value": client.cookies["sessionid"].value}
    context.add_cookies([{**session, "url": live_server.url}])
    yield listened(context.new_page())
    context.close()


def manager_of(site):
    return Membership.objects.get(site=site, role=Role.MANAGER).person


def picture(shade):
    kept = io.BytesIO()
    Image.linear_gradient("L").point(lambda grey: grey ^ shade).save(kept, "JPEG")
    return kept.getvalue()


def go_round_the_joints(page, thumb):
    """Press each joint firm, and its pin; each next card is in sight before it is pressed."""
    for place, card in enumerate(page.locator("[data-next-card] > .card").all()):
        firm = card.locator("label:has(input[value=firm])")
        if place:
            expect(firm).to_be_in_viewport()
        thumb.press(firm)
        pin = card.locator("label:has(input[value=undisturbed])")
        if pin.count():
            thumb.press(pin)


def test_a_settle_check_takes_at_most_sixty_taps(page, cart):
    thumb = Thumb(page)
    page.goto(f"/{cart.site.slug}/carts/{cart.pk}/round/")
    assert page.locator("[data-next-card] > .card").count() == 22
    assert page.locator("input[value=undisturbed]").count() == 6

    thumb.choose("cautions")
    thumb.type("Hour meter (h)", "437.5")
    thumb.type("Distance meter (mi)", "1950.4")
    thumb.press(page.locator("label:has([name=joints-wrenches])"))
    go_round_the_joints(page, thumb)
    thumb.choose("grease-all_greased")
    thumb.choose("label-as_it_should_be")
    thumb.photograph("label-photo_seat", picture(0))
    thumb.choose("label-number_in_picture")
    thumb.photograph("label-photo_close", picture(9))
    for part in ("tyres", "camber-toe", "brake"):
        thumb.choose(f"{part}-not_done")
    thumb.press(page.get_by_role("button", name="Save the round"))
    page.get_by_text("Saved.").wait_for()

    sys.stdout.write(f"taps: {thumb.taps}\n")
    assert thumb.taps <= MOST_TAPS
    looks = Look.objects.filter(fact__round=Round.objects.latest("done_at"))
    assert (looks.count(), looks.filter(found="firm", right_after=True).count()) == (22, 22)
    assert looks.filter(wrench=None).count() == 6
    assert set(looks.values_list("lacks", flat=True)) == {None}
    strokes = GreaseStroke.objects.filter(fact__round=Round.objects.latest("done_at"))
    assert strokes.filter(found="greased").count() == 8
    assert LabelCheck.objects.latest("done_at").in_place
    assert Photo.objects.count() == 2
    assert page.complaints == []
    page.get_by_text("Not done in this round: Tyres, Camber and toe, Brake").wait_for()
