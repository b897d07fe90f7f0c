"""How the warning label of each lifted cart stands in the bundle."""

from decimal import Decimal

import pytest

from lifts.actions import fit
from lifts.models import LabelCheck
from shared.facts import record
from shared.models import Photo
from tests.fleet.bundle_tables import tables_of
from tests.fleet.bundling import Fleet, on
from tests.round_factories import a_round, told

pytestmark = pytest.mark.django_db


@pytest.fixture
def fleet():
    return Fleet("harbour")


def photograph(fleet, cart, *shots):
    """Record photos of the cart's last look at its label."""
    check = LabelCheck.objects.filter(cart=cart).latest("done_at")
    for place, shows in enumerate(shots):
        sums = {name: f"{place}{shows:x>63}" for name in ("original_sha256", "copy_sha256")}
        about = {"site": fleet.site, "cart_id": cart.pk, "about": check.pk, "by": fleet.mechanic}
        record(Photo(shows=shows, width=4, height=3, **sums, **about), at=on(3, 4, 12))


def standing(fleet, at, number="7"):
    tables = tables_of(fleet.site, at)
    figures = {row["code"]: row["value"] for row in tables.rows("figures")}
    row = tables.row("label_coverage", cart=number)
    return row["standing"], figures["labels_recorded"], figures["labels_asked"]


def test_label_is_recorded_with_both_photos_for_91_days(fleet):
    cart = fleet.lifted("7", on(3, 2))
    fleet.cart("9")
    a_round(cart, by=fleet.mechanic, at=on(3, 4), parts=("label",))
    photograph(fleet, cart, Photo.Shows.LABEL_SEAT, Photo.Shows.LABEL_CLOSE)

    assert standing(fleet, on(3, 3)) == ("photos missing", "0", "1")
    # 27 days of March, 30 of April, 31 of May, then the 3rd of June is the 91st
    assert standing(fleet, on(6, 3)) == ("recorded", "1", "1")
    assert standing(fleet, on(6, 4)) == ("looked at too long ago", "0", "1")


def test_label_with_one_photo_lacks_the_other(fleet):
    cart = fleet.lifted("7", on(3, 2))
    photograph(fleet, cart, Photo.Shows.LABEL_SEAT)

    assert standing(fleet, on(3, 5)) == ("photos missing", "0", "1")


@pytest.mark.parametrize(("replaced", "word"), [(False, "wanting"), (True, "recorded")])
def test_label_that_cannot_be_read_is_wanting_until_replaced(fleet, monkeypatch, replaced, word):
    cart = fleet.lifted("7", on(3, 2))
    worn = told("label", cart, is_legible=False, replaced=replaced)
    monkeypatch.setattr("tests.round_factories.told", lambda *_args, **_more: worn)
    a_round(cart, by=fleet.mechanic, at=on(3, 4), parts=("label",))
    photograph(fleet, cart, Photo.Shows.LABEL_SEAT, Photo.Shows.LABEL_CLOSE)

    assert standing(fleet, on(3, 5))[0] == word


def test_lifted_cart_without_a_look_is_not_recorded(fleet):
    fit(fleet.cart("7"), fleet.kit, by=fleet.mechanic, at=on(3, 2))

    assert standing(fleet, on(3, 5)) == ("not recorded", "0", "1")


def test_letters_are_told_as_measured_with_what_is_asked_of_them(fleet):
    cart = fleet.lifted("7", on(3, 2))
    # 1/8 in read from 29 in; a signal word must be half as tall again
    heights = {"letters_mm": "3.175", "signal_word_mm": "4", "seat_mm": "736.6"}
    about = {name: Decimal(value) for name, value in heights.items()}
    check = told("label", cart, condition="worn", batch="L-2", **about)
    a_round(cart, by=fleet.mechanic, at=on(3, 4), parts=(), ready=[check])

    older, row = tables_of(fleet.site, on(3, 5)).rows("labels")

    assert (row["condition"], row["batch"], row["letters_mm"]) == ("worn", "L-2", "3.175")
    assert row["letters"] == "letters of the label: inside; signal word of the label: outside"
    assert "asked 2.96 mm" in row["letters_why"] and "asked 4.76 mm" in row["letters_why"]
    assert (older["condition"], older["letters"], older["letters_why"]) == ("", "", "")
