"""The pages of recorded sheets: one, all of a cart, all of the carts with a kit."""

import csv
from datetime import timedelta
from decimal import Decimal

import pytest
from django.urls import reverse

from alignment.kit_trends import learned_said
from alignment.learning import Seen
from alignment.models import CamberToeSheet
from shared.facts import record
from shared.models import Photo, Strike
from tests.alignment_factories import TurnFactory
from tests.alignment_sheets import read
from tests.camber_toe_yard import Yard
from tests.factories import MORNING, PersonFactory
from tests.lift_factories import with_role
from tests.spec_factories import ROD, SLEEVE, a_spec

pytestmark = pytest.mark.django_db
READY = {**dict.fromkeys(CamberToeSheet.READY, True), "floor_level": True}
LATER = MORNING + timedelta(days=20)
OFF = Decimal("-0.9")


@pytest.fixture
def yard(client):
    return Yard(client)


def test_a_round_leads_to_the_sheet_that_it_recorded(yard):
    fact = yard.sheet(yard.cart(), *read(left=0, right=0, toe="3/16"))
    other = yard.sheet(yard.cart("8"), *read(left=0, right=0, toe="3/16"))

    page = yard.page("round-detail", fact.cart_id, fact.round_id)

    of_fact, of_other = (
        reverse("camber-toe-detail", args=[yard.site.slug, one.cart_id, one.pk])
        for one in (fact, other)
    )
    assert f'<a class="button" href="{of_fact}">Camber and toe as recorded</a>' in page
    assert of_other not in page


def test_one_sheet_tells_its_values_its_limits_and_its_readings(yard):
    fact = yard.sheet(
        yard.cart(),
        *read(left=OFF, right=0, toe="3/16"),
        limits_from="HX-4 sheet, edition B",
        note="Gravel lot",
    )

    page = yard.of_sheet(fact)

    assert "Cart 7: camber and toe" in page
    assert f"by {yard.manager.name}." in page
    assert "HX-4 sheet, edition B" in page
    assert 'verdict-outside verdict-below">outside' in page
    assert "under 1 % likely inside" in page.lower()
    assert "gauge -0.9: −0.90°" in page
    assert "Left it open: " in page
    assert "Note: Gravel lot" in page
    assert page.count(">Seen from the front. ") == page.count(">Seen from above. ") == 2
    assert page.count('<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 360') == 8
    for word in ("safe", "compliant", "certified"):
        assert word not in page.lower()


def test_one_sheet_says_why_the_cart_was_tagged(yard):
    fact = yard.sheet(yard.cart(), *read(left=Decimal(-2), right=Decimal(-2), toe="3/16"))

    assert "Kept the cart out of use: camber beyond 1.5 degrees" in yard.of_sheet(fact)


LOOK = "Not adjustable, and outside: camber left, camber, left less right. Look for a bent or worn"


@pytest.mark.parametrize(
    ("adjusts", "left", "toe", "is_said"),
    [
        ("not", OFF, "3/16", True),
        ("sleeve", OFF, "3/16", False),
        ("not", 0, "1/2", False),
    ],
    ids=["not adjustable", "by a sleeve", "toe alone"],
)
def test_one_sheet_says_where_to_look_for_a_bent_part(yard, adjusts, left, toe, is_said):
    fact = yard.sheet(yard.cart(), *read(left=left, right=0, toe=toe), camber_adjusts=adjusts)

    assert (LOOK in yard.of_sheet(fact)) is is_said


def test_one_sheet_says_what_was_not_measured(yard):
    fact = yard.sheet(yard.cart(), *read(left=0, toe="3/16"))

    assert "Not measured so that it counts: camber right" in yard.of_sheet(fact)


def test_one_sheet_shows_readings_that_do_not_fit_together(yard):
    lines = read(left=0, right=0, toe="3/16")
    lines[0].gauge_deg = Decimal(2)
    fact = yard.sheet(yard.cart(), *lines)

    page = yard.of_sheet(fact)

    assert "What does not fit together" in page
    assert "Camber left, pass 1: the readings scatter more than the mark explains" in page


def test_one_sheet_holds_turns_against_the_kits_figures_of_its_day(yard):
    cart = yard.cart()
    a_spec(yard.site, yard.manager, MORNING, done_at=MORNING, **ROD, **SLEEVE)
    wrong_way = [
        *read(left=Decimal("-1.2"), right=0),
        TurnFactory(longer_flats=Decimal(6)),
        *read(left=Decimal("-2.4"), toe="3/16", pass_no=2),
    ]
    fact = yard.sheet(cart, *wrong_way, passes=2)

    assert "Camber left, pass 2: " in yard.of_sheet(fact).split("What does not fit together")[1]


def test_one_sheet_shows_its_own_photos_alone(yard):
    cart = yard.cart()
    fact, other = yard.sheet(cart), yard.sheet(cart, days=30)
    shot, elsewhere = (
        _photo(yard, about=one.pk, sha=str(n)) for n, one in enumerate((fact, other))
    )

    page = yard.of_sheet(fact)

    assert str(shot.pk) in page
    assert str(elsewhere.pk) not in page
    # one that loads late is blank on paper
    assert 'loading="lazy"' not in page


def _photo(yard, *, about, sha):
    hashes = {"original_sha256": sha * 64, "copy_sha256": sha * 64}
    size = {"width": 40, "height": 30}
    photo = Photo(site=yard.site, by=yard.manager, about=about, shows="tape", **hashes, **size)
    return record(photo, at=LATER).fact


def test_a_sheet_that_was_told_again_says_so_and_leads_to_the_last(yard):
    cart = yard.cart()
    fact = yard.sheet(cart)
    corrector = PersonFactory(name="Bo Reed")
    again = yard.sheet(
        cart, corrects=fact.pk, why_corrected="Read upside down", by=corrector, days=21
    )

    page = yard.of_sheet(fact)
    of_last = yard.of_sheet(again)

    assert "This sheet does not stand any more: corrected by Bo Reed" in page
    assert "Read upside down" in page
    assert reverse("camber-toe-detail", args=[yard.site.slug, cart.pk, again.pk]) in page
    assert "does not stand any more" not in of_last
    assert "Its round was corrected by Bo Reed" in of_last


def test_a_sheet_that_was_taken_back_says_so(yard):
    fact = yard.sheet(yard.cart())
    strike = Strike(
        site=yard.site, by=yard.manager, corrects=fact.pk, why_corrected="Wrong cart entirely"
    )
    record(strike, at=LATER + timedelta(days=1))

    page = yard.of_sheet(fact)

    assert "Taken back by" in page
    assert "Wrong cart entirely" in page


def test_the_list_of_a_cart_has_all_standing_sheets_newest_first(yard):
    cart, other = yard.cart(), yard.cart(number="8")
    first, second, gone = (yard.sheet(cart, days=days) for days in (20, 30, 40))
    elsewhere = yard.sheet(other)
    strike = Strike(site=yard.site, by=yard.manager, corrects=gone.pk, why_corrected="No")
    record(strike, at=MORNING + timedelta(days=41))

    page = yard.page("camber-toe-list", cart.pk)

    assert page.index(str(second.pk)) < page.index(str(first.pk))
    assert str(gone.pk) not in page
    assert str(elsewhere.pk) not in page


def test_the_list_of_a_cart_is_a_file_too(yard):
    cart = yard.cart()
    yard.sheet(cart, *read(left=OFF, right=0, toe="3/16"))
    address = reverse("camber-toe-list", args=[yard.site.slug, cart.pk])

    answer = yard.client.get(address, {"file": "csv"})

    (row,) = csv.DictReader(answer.getvalue().decode("utf-8-sig").splitlines())
    assert row["Measured"] == (MORNING + timedelta(days=20)).isoformat()
    assert row["By"] == yard.manager.name
    assert (row["camber left found deg"], row["camber left verdict"]) == ("-0.9", "outside")
    assert (row["toe found mm"], row["toe found total deg"]) == ("4.763", "0.488")
    assert (row["toe left mm"], row["toe taken at mm"]) == ("", "558.800000")
    assert "Camber left" not in row


def test_a_cart_without_a_sheet_says_so(yard):
    page = yard.page("camber-toe-list", yard.cart().pk)

    assert "No camber and toe sheet is recorded." in page


def test_a_mechanic_and_a_surveyor_read_a_sheet_and_the_desk_does_not(yard, client):
    fact = yard.sheet(yard.cart())
    address = reverse("camber-toe-detail", args=[yard.site.slug, fact.cart_id, fact.pk])
    codes = {}

    for role in ("mechanic", "surveyor", "desk"):
        client.force_login(with_role(yard.site, yard.manager, role))
        codes[role] = client.get(address).status_code

    assert codes == {"mechanic": 200, "surveyor": 200, "desk": 404}


def test_a_cart_of_another_address_does_not_lead_to_the_sheet(yard):
    fact, other = yard.sheet(yard.cart()), yard.cart(number="8")

    address = reverse("camber-toe-detail", args=[yard.site.slug, other.pk, fact.pk])

    assert yard.client.get(address).status_code == 404


def test_the_carts_page_leads_to_its_sheets_and_how_they_went(yard):
    cart = yard.cart()
    fact = yard.sheet(cart, *read(left=OFF, right=0, toe="3/16"))

    page = yard.page("cart-detail", cart.pk)

    assert reverse("camber-toe-detail", args=[yard.site.slug, cart.pk, fact.pk]) in page
    assert reverse("camber-toe-list", args=[yard.site.slug, cart.pk]) in page
    assert (
        '<span class="verdict verdict-outside verdict-below">outside</span> Camber left: −0.90°'
        in page
    )


def test_the_list_of_figures_leads_to_how_the_carts_measure(yard):
    yard.cart()

    page = yard.page("alignment-spec-list")

    assert reverse("camber-toe-measured", args=[yard.site.slug]) in page
    assert reverse("camber-toe-kit", args=[yard.site.slug, "hx-4"]) in page


def test_what_clear_turns_did_is_told_with_its_range():
    seen = [Seen(change, 1.0, 0.05) for change in (0.8, 0.9, 1.1)]

    assert learned_said(seen) == "Clear turns did 0.90 of it (0.80 to 1.10, 3 turns)."
    assert learned_said([Seen(0.1, 0.1, 0.05)]) == (
        "No turn on these carts was clear enough to learn from."
    )


def test_the_list_breaks_no_line_inside_a_figure(yard):
    fact = yard.sheet(yard.cart(), *read(left=OFF, right=0, toe="3/16"))

    page = yard.page("camber-toe-list", fact.cart_id)

    no_break = "\N{NO-BREAK SPACE}"
    assert f"found{no_break}−0.90°{no_break}±" in page
    assert f"found +0.188{no_break}in (3/16{no_break}in, +4.8{no_break}mm)<br>±" in page
    assert f"at 22{no_break}in (559{no_break}mm)<br>" in page
