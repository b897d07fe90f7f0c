import re
from datetime import timedelta
from decimal import Decimal

import pytest
from django.urls import reverse

from alignment.actions import save_spec
from alignment.models import AlignmentSpec
from lifts.actions import fit
from shared.models import Role, new_id
from tests.alignment_factories import mm
from tests.factories import MORNING
from tests.lift_factories import a_cart, a_kit, a_site, with_role
from tests.spec_factories import ROD, SLEEVE, spec_values

pytestmark = pytest.mark.django_db
HOUR = timedelta(hours=1)
TYPED = {
    "source": "HX-4 sheet, edition B",
    "camber_low": "-0.5",
    "camber_high": "0.5",
    "side_to_side": "0.5",
    "toe_low": "1/8",
    "toe_high": "1/4",
    "rods": "two",
    "rod_ends": "single",
    "rod_pitch": "1.25 mm",
    "arm_length": "4 1/2",
    "arm": "ahead",
    "rod_height": "1.75",
    "camber_adjusts": "sleeve",
    "sleeve_ends": "double",
    "sleeve_pitch": "20 an inch",
    "knuckle": "140 mm",
}


class Yard:
    """A site with a kit on one cart, and another that nothing bears."""

    def __init__(self, client, **about):
        self.site, self.manager = a_site(**about)
        self.client = client
        self.kit = a_kit(self.site, self.manager, code="hx-4")
        self.lifted = a_cart(self.site, self.manager, "7", tyre_mm="558.8")
        fit(self.lifted, self.kit, by=self.manager, at=MORNING)
        client.force_login(self.manager)

    def url(self, name, *args):
        return reverse(f"alignment-spec-{name}", args=[self.site.slug, *args])

    def told(self, kit_code="hx-4", at=MORNING, **values):
        return save_spec(self.site, kit_code, spec_values(**values), by=self.manager, at=at)

    def shown(self):
        return words(self.client.get(self.url("list")))

    def send(self, code="hx-4", **fields):
        typed = {"act": new_id(), **TYPED, **fields}
        typed = {name: value for name, value in typed.items() if value is not None}
        return self.client.post(self.url("change", code), typed)


def words(response):
    """Return what a page says, without its tags."""
    assert response.status_code == 200
    return re.sub(r"\s+", " ", re.sub("<[^>]*>", " ", response.content.decode()))


def errors(response):
    return {name: list(said) for name, said in response.context["form"].errors.items()}


@pytest.fixture
def yard(client):
    return Yard(client)


def section(page, title):
    """Return what stands between one heading and the next."""
    rest = page.split(f"{title} ", 1)[1]
    return re.split(r" (?:Kit [a-z]|All carts of the site)", rest)[0]


def test_a_site_without_figures_shows_the_usual_ones_plainly(yard):
    page = section(yard.shown(), "All carts of the site")

    assert "Camber −0.50° to +0.50°" in page
    assert "at most 0.50°" in page
    assert "toe-in 0.125 to 0.250 in" in page
    assert "Source common practice, no source" in page
    assert "can’t tell: thread and steering arm are not told" in page


def test_toe_is_shown_as_an_angle_that_is_smaller_on_bigger_tyres(yard):
    page = section(yard.shown(), "All carts of the site")

    # 2 asin(t / 2D) for t of 1/8 and 1/4 in, by hand
    assert "18 in 20 in 22 in 23 in" in page
    assert "0.40° to 0.80° 0.36° to 0.72° 0.33° to 0.65° 0.31° to 0.62°" in page


def test_a_kit_of_which_nothing_is_told_is_as_the_site(yard):
    page = section(yard.shown(), "Kit hx-4")

    assert "1 cart " in page
    assert "As all carts of the site: nothing is told of this kit." in page
    assert "0.125" not in page


def test_a_kits_own_figures_are_shown_with_who_told_them(yard):
    yard.told(note="As delivered", **ROD, **SLEEVE)

    page = section(yard.shown(), "Kit hx-4")

    assert "Source HX-4 sheet, edition B" in page
    assert f"Told by {yard.manager.name}" in page
    assert "As delivered" in page
    assert "one on each side; 1.25 mm, thread at one end; steering arm 4.5 in, ahead of the" in page
    assert "by a threaded sleeve on the upper arm; 1.25 mm, left- and right-hand thread" in page


def test_what_a_flat_does_is_told_for_the_tyre_that_most_carts_stand_on(yard):
    yard.told(**ROD, **SLEEVE)

    page = section(yard.shown(), "Kit hx-4")

    assert "One flat, on 22 in tyres" in page
    # trade: 2 * 22 * (1.25 / 25.4 / 6) / 4.5 = 0.0802 in; 2 asin(0.0802 / 44) = 0.21 degree
    assert "Both tie rods a flat longer: toe −0.080 in (−0.21°), less toe-in." in page
    # atan(2 * 1.25 / 139.7) a turn is 1.025 degrees
    assert "A camber sleeve a flat longer: camber +0.17°, top farther out." in page
    # 22 * (1.75 * pi / 180) / 4.5
    assert "top 1° farther out moves toe by +0.149 in" in page


def test_the_law_for_road_vehicles_is_told_beside_a_makers_toe_alone(yard):
    yard.told(toe_low_mm=mm("1/16"), toe_high_mm=mm("1/8"))
    yard.told(kit_code="", source="shop rule", toe_low_mm=0)

    page = yard.shown()

    # 49 CFR 570.7(d): 1.5 times 1/8 in is 3/16 in
    law = "For comparison 49 CFR 570.7(d), on road vehicles in use, takes toe up to 1.5 times the "
    law += "maker’s value, 0.188 in for 0.125 in. No sheet is judged by it."
    assert law in section(page, "Kit hx-4")
    assert "570.7" not in section(page, "All carts of the site")


def test_the_stricter_of_the_kits_and_the_sites_is_shown(yard):
    yard.told()
    yard.told(kit_code="", source="shop rule", camber_low_deg=Decimal("-0.2"))

    page = section(yard.shown(), "Kit hx-4")

    assert "−0.20° to +0.50°" in page
    assert "HX-4 sheet, edition B; stricter: site’s own: shop rule" in page


def test_a_metric_site_reads_millimetres(client):
    yard = Yard(client, units="metric")
    yard.told(**ROD)

    page = yard.shown()

    assert "toe-in 3.2 to 6.4 mm" in page
    assert "457 mm 508 mm 559 mm 584 mm" in page
    assert "toe −2.04 mm" in page


def test_the_sites_own_flats_are_told_for_the_tyre_of_most_of_its_carts(yard):
    for number in ("8", "9"):
        a_cart(yard.site, yard.manager, number, tyre_mm="457.2")
    yard.told(kit_code="", source="shop rule", **ROD)

    page = yard.shown()

    assert "One flat, on 18 in tyres" in section(page, "All carts of the site")
    assert "One flat, on 22 in tyres" in section(page, "Kit hx-4")


def test_without_a_tyre_recorded_22_in_is_taken_and_said(client):
    site, manager = a_site()
    client.force_login(manager)

    page = words(client.get(reverse("alignment-spec-list", args=[site.slug])))

    assert "One flat, on 22 in tyres; none is recorded" in page


def test_a_rod_across_and_an_arm_behind_read_so(yard):
    yard.told(**ROD | {"rods": "across", "arm": "behind"})

    page = section(yard.shown(), "Kit hx-4")

    assert "The one tie rod a flat longer: toe +0.040 in (+0.10°), more toe-in." in page


def test_camber_that_is_not_adjustable_says_what_to_look_for(yard):
    yard.told(camber_adjusts="not")

    page = section(yard.shown(), "Kit hx-4")

    assert "not adjustable; camber outside means a bent or worn part: look for it" in page


def test_a_manager_tells_a_kits_figures_as_typed(yard):
    response = yard.send()

    assert response.url == yard.url("list")
    spec = AlignmentSpec.objects.get()
    assert (spec.kit_code, spec.source, spec.by) == ("hx-4", TYPED["source"], yard.manager)
    assert (spec.camber_low_deg, spec.toe_high_mm) == (Decimal("-0.5"), Decimal("6.35"))
    assert (spec.toe_high_typed, spec.arm_typed) == ("1/4 in", "4 1/2 in")
    assert (spec.arm_mm, spec.knuckle_mm) == (Decimal("114.3"), 140)
    assert (spec.sleeve_pitch_typed, spec.sleeve_pitch_mm) == ("20 an inch", Decimal("1.27"))
    assert (spec.rods, spec.rod_ends, spec.arm) == ("two", "single", "ahead")
    assert (spec.camber_adjusts, spec.sleeve_ends) == ("sleeve", "double")


def test_a_manager_tells_which_end_has_the_right_hand_thread(yard):
    yard.send()
    ends = {"rod_ends": "double", "rod_right_hand": "middle", "sleeve_right_hand": "wheel"}
    yard.send(**ends, note="Looked at on the cart")

    untold, told = AlignmentSpec.objects.order_by("received_at")
    assert (untold.rod_right_hand, untold.sleeve_right_hand) == (None, None)
    assert (told.rod_right_hand, told.sleeve_right_hand) == ("middle", "wheel")
    form = yard.client.get(yard.url("change", "hx-4")).context["form"]
    values = [form[name].value() for name in ("rod_right_hand", "sleeve_right_hand")]
    assert values == ["middle", "wheel"]
    page = yard.shown()
    assert "right-hand thread at the end towards the middle of the cart" in page
    assert "left- and right-hand thread, right-hand thread at the wheel end" in page
    assert page.count("right-hand thread at") == 2


def test_a_manager_tells_the_sites_own(yard):
    response = yard.client.post(
        yard.url("usual"), {"act": new_id(), "source": "insurer’s terms", "side_to_side": "0.3"}
    )

    spec = AlignmentSpec.objects.get()
    assert response.status_code == 302
    assert (spec.kit_code, spec.side_to_side_deg, spec.toe_low_mm) == ("", Decimal("0.3"), None)


def test_sent_twice_it_is_told_once(yard):
    act = new_id()

    answers = [yard.send(act=act).status_code for _time in range(2)]

    assert answers == [302, 302]
    assert AlignmentSpec.objects.count() == 1


def test_sent_again_with_other_figures_it_says_so(yard):
    act = new_id()
    yard.send(act=act)

    response = yard.send(act=act, camber_high="0.4", note="Again")

    said = "This page was recorded before, with other content. "
    said += "Press again only if this is to be recorded as well."
    assert errors(response) == {"__all__": [said]}
    assert response.context["form"]["act"].value() != str(act)


def test_a_change_begins_with_what_was_told_and_asks_why(yard):
    yard.send()

    page = yard.client.get(yard.url("change", "hx-4"))
    response = yard.send(camber_high="0.4", note="")

    form = page.context["form"]
    assert (form["arm_length"].value(), form["camber_low"].value()) == ("4 1/2 in", "-0.5")
    assert (form["sleeve_pitch"].value(), form["rods"].value()) == ("20 an inch", "two")
    assert form["note"].value() is None
    assert errors(response) == {"note": ["This field is required."]}
    assert yard.send(camber_high="0.4", note="Edition C").status_code == 302


def test_figures_told_since_the_page_was_opened_ask_for_a_reason_too(yard, monkeypatch):
    yard.told()
    monkeypatch.setattr("alignment.views.specs.specs_at", lambda *about: {})

    assert errors(yard.send()) == {"note": ["Figures were told before: say why they change"]}


@pytest.mark.parametrize(
    ("fields", "where", "said"),
    [
        ({"source": ""}, "source", "This field is required."),
        ({"toe_low": "-1/16"}, "toe_low", "Toe-out is never inside: 0 or more."),
        ({"toe_low": ""}, "toe_low", "The two go together."),
        ({"camber_high": ""}, "camber_high", "The two go together."),
        ({"toe_low": "3/8"}, "toe_high", "The upper one must lie above the lower one."),
        ({"rod_pitch": "20"}, "rod_pitch", "“20”: say mm, or how many threads an inch"),
        (
            {"arm": ""},
            "arm",
            "Of tie rods tell all but the height and the right-hand thread, or nothing.",
        ),
        (
            {"rods": ""},
            "rods",
            "Of tie rods tell all but the height and the right-hand thread, or nothing.",
        ),
        ({"knuckle": ""}, "knuckle", "Thread, pitch and height of the sleeve go together."),
        ({"camber_adjusts": "not"}, "camber_adjusts", "say that camber is adjusted by one."),
        ({"arm_length": "4.5 kg"}, "arm_length", "is not one of"),
        ({"camber_low": "-9"}, "camber_low", "cannot be right here"),
    ],
)
def test_what_cannot_be_meant_is_refused_and_nothing_typed_is_lost(yard, fields, where, said):
    response = yard.send(**fields)

    found = errors(response)
    assert list(found) == [where]
    assert said in found[where][0]
    assert response.context["form"]["knuckle"].value() == fields.get("knuckle", "140 mm")
    assert not AlignmentSpec.objects.exists()


def test_a_rods_height_may_stay_unknown(yard):
    assert yard.send(rod_height="").status_code == 302


def test_a_sleeve_may_be_known_without_its_thread(yard):
    fields = dict.fromkeys(("sleeve_ends", "sleeve_pitch", "knuckle"), "")

    assert yard.send(**fields).status_code == 302
    assert AlignmentSpec.objects.get().camber_adjusts == "sleeve"


def test_a_look_says_what_a_flat_does_and_records_nothing(yard):
    for number in ("8", "9"):
        a_cart(yard.site, yard.manager, number, tyre_mm="457.2")

    page = words(yard.send(ask="look", rod_pitch="20 an inch"))

    # 2 * 22 * (1 / 20 / 6) / 4.5
    assert "Both tie rods a flat longer: toe −0.081 in" in page
    assert "One flat, on 22 in tyres" in page
    assert "On 22 in tyres toe-in 0.125 to 0.250 in: 0.33° to 0.65°" in page
    assert "Nothing is recorded yet." in page
    assert not AlignmentSpec.objects.exists()


def test_a_kit_is_told_of_before_a_cart_bears_it(yard):
    a_kit(yard.site, yard.manager, code="reef-3", name="Reef kit")

    assert "Kit reef-3 · Reef kit 0 carts" in yard.shown()
    assert yard.send(code="reef-3").status_code == 302
    assert AlignmentSpec.objects.get().kit_code == "reef-3"


def test_a_kit_that_nobody_here_knows_is_not_found(yard):
    assert yard.send(code="trail-6").status_code == 404
    yard.told(kit_code="trail-6")
    assert yard.send(code="trail-6", note="Edition C").status_code == 302


def test_a_kit_is_listed_after_its_last_cart_took_another(yard):
    other = a_kit(yard.site, yard.manager, code="trail-6")
    fit(yard.lifted, other, by=yard.manager, at=MORNING + HOUR)

    page = yard.shown()

    assert "0 carts" in section(page, "Kit hx-4")
    assert "1 cart " in section(page, "Kit trail-6")


def test_only_a_manager_is_led_to_the_forms(yard):
    assert "Tell the figures: hx-4" in yard.shown()

    for role in (Role.MECHANIC, Role.SURVEYOR):
        yard.client.force_login(with_role(yard.site, yard.manager, role))
        assert "Tell the figures" not in yard.shown()


@pytest.mark.parametrize("kits", [1, 3])
def test_the_page_costs_the_same_however_many_kits(yard, kits, django_assert_num_queries):
    for number in range(1, kits):
        kit = a_kit(yard.site, yard.manager, code=f"kit-{number}")
        cart = a_cart(yard.site, yard.manager, str(number))
        fit(cart, kit, by=yard.manager, at=MORNING)
        yard.told(kit_code=kit.code)
    yard.told()

    with django_assert_num_queries(8):
        response = yard.client.get(yard.url("list"))

    assert len(response.context["sections"]) == kits + 1
