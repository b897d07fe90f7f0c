"""How camber and toe of a cart went: what is said of it only once it is proved."""

from datetime import timedelta
from decimal import Decimal

import pytest

from alignment.trends import trend_of
from lifts.actions import fit
from shared.viewer import Viewer
from tests.alignment_factories import NOON, TurnFactory, mm
from tests.alignment_sheets import a_round, a_sheet, read
from tests.factories import MORNING
from tests.lift_factories import a_cart, a_kit, a_site

pytestmark = pytest.mark.django_db
NOTHING = "Nothing has moved beyond the uncertainty of what was left and found."


@pytest.fixture
def site_and_manager():
    return a_site(units="inch")


@pytest.fixture
def cart(site_and_manager):
    return a_cart(*site_and_manager)


@pytest.fixture
def sheet(cart, site_and_manager):
    def recorded(days, *lines, **values):
        row = a_round(cart, site_and_manager[1], NOON + timedelta(days=days))
        return a_sheet(row, *lines, **values)

    return recorded


@pytest.fixture
def trend(cart, site_and_manager):
    return lambda: trend_of(cart, Viewer(site_and_manager[1], NOON + timedelta(days=900)))


def adjusted(found, left):
    """A sheet whose right camber sleeve was turned."""
    return [
        *read(left=0, right=Decimal(found), toe="3/16"),
        TurnFactory(at="right"),
        *read(right=Decimal(left), toe="3/16", pass_no=2),
    ]


def test_camber_that_moved_since_it_was_left_asks_for_a_bent_part(sheet, trend):
    sheet(0, *adjusted("-0.9", "0"), passes=2)
    sheet(30, *read(left=0, right=Decimal("-0.4"), toe="3/16"))

    assert trend().moved == [
        "Right camber has moved −0.40° ± 0.18° since it was last left "
        "(04/06/2026 to 05/06/2026): look for a bent or worn part."
    ]


def test_camber_that_moved_less_than_both_uncertainties_is_not_told(sheet, trend):
    sheet(0, *adjusted("-0.9", "0"), passes=2)
    sheet(30, *read(left=0, right=Decimal("-0.1"), toe="3/16"))

    assert trend().moved == [NOTHING]


def test_camber_that_was_never_adjusted_moved_since_it_was_first_measured(sheet, trend):
    sheet(0, is_settled=False)
    sheet(30, *read(left=Decimal("0.5"), right=0, toe="3/16"))

    assert trend().moved == [
        "Left camber has moved +0.50° ± 0.18° since it was first measured "
        "(04/06/2026 to 05/06/2026): look for a bent or worn part. "
        "The lift had not settled then: settling moves it too."
    ]


def test_toe_that_moved_is_told_as_an_angle_and_a_length(sheet, trend):
    sheet(0)
    sheet(30, *read(left=0, right=0, toe="3/8"))

    assert trend().moved == [
        "Toe has moved +0.49° ± 0.13° since it was first measured, as +0.188 in (+4.8 mm) "
        "at 22 in (559 mm) (04/06/2026 to 05/06/2026): look for a bent or worn part."
    ]


def test_the_same_angle_on_bigger_tyres_has_not_moved(sheet, trend):
    sheet(0, *read(left=0, right=0, toe="7/16"))
    # the same angle is longer at a bigger diameter
    sheet(30, *read(left=0, right=0, toe="1/2"), diameter_mm=mm("25 1/7"))

    assert trend().moved == [NOTHING]


def test_one_sheet_is_compared_with_nothing(sheet, trend):
    sheet(0)

    assert (trend().moved, trend().drifts) == ([], [])


def test_another_lift_in_between_is_no_drift(cart, site_and_manager, sheet, trend):
    site, manager = site_and_manager
    sheet(0)
    kit = a_kit(site, manager, at=MORNING)
    fit(cart, kit, by=manager, at=NOON + timedelta(days=10))
    sheet(30, *read(left=Decimal("-1"), right=0, toe="3/16"))

    assert trend().moved == []


def test_a_drift_is_told_once_it_is_proved(sheet, trend):
    for n in range(5):
        sheet(100 * n, *read(left=Decimal("-0.3") * n, right=0, toe="3/16"))

    (said,) = trend().drifts
    assert said.startswith("Left camber drifts by −0.30° in 100 days (−0.39° to −0.21°, ")
    assert said.endswith("by 5 sheets; what was turned is taken out).")


def test_a_knock_moved_and_does_not_drift(sheet, trend):
    for days, toe in ((0, "3/16"), (10, "3/16"), (50, "3/16"), (90, "-1/4"), (91, "-1/4")):
        sheet(days, *read(left=0, right=0, toe=toe))

    found = trend()

    (said,) = found.moved
    assert said.startswith("Toe has moved −1.14° ± 0.13° since it was first measured, ")
    assert said.endswith(
        "(04/06/2026 to 07/06/2026): look for a bent or worn part. "
        "Most of it came between 05/26/2026 and 07/05/2026."
    )
    assert found.drifts == []


def test_what_was_put_right_and_holds_is_not_looked_for_again(sheet, trend):
    sheet(0)
    sheet(30, *adjusted("-0.9", "0"), passes=2)
    sheet(60, *read(left=0, right=0, toe="3/16"))

    assert (trend().moved, trend().drifts) == ([NOTHING], [])


def test_what_moved_again_after_it_was_put_right_is_told_so(sheet, trend):
    sheet(0)
    sheet(30, *adjusted("-0.9", "0"), passes=2)
    sheet(60, *read(left=0, right=0, toe="3/16"))
    sheet(90, *read(left=0, right=Decimal("-0.8"), toe="3/16"))

    assert trend().moved == [
        "Right camber has moved −0.80° ± 0.18° since it was last left "
        "(05/06/2026 to 07/05/2026). It moved again after it was put right: "
        "look for a bent or worn part. Most of it came between 06/05/2026 and 07/05/2026."
    ]


def test_toe_without_a_diameter_is_counted_and_not_drawn(sheet, trend):
    sheet(0, diameter_mm=None, diameter_typed="")

    found = trend()

    assert (found.without_diameter, found.toe) == (1, "")
    assert "camber left, as found" in found.camber


def test_drawings_tell_found_and_left_apart_on_the_limits(sheet, trend):
    sheet(0, *adjusted("-0.9", "0"), passes=2)

    found = trend()

    for mark in ("camber right, as found", "camber right, as left", "−0.50°", "+0.50°"):
        assert mark in found.camber
    assert "camber left, as left" not in found.camber
    assert "toe, as left" in found.toe
    assert "+0.33°" in found.toe
    assert "Newest: camber, left" not in found.camber
    assert "Limits −0.50° to +0.50°. Newest: camber left: +0.00°" in found.camber
