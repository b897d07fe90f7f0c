"""No word of another site is anywhere in a bundle: every file unpacked, PDFs read as text."""

import io

import pytest
from pypdf import PdfReader

from fleet.actions import register
from fleet.actions.tags import report
from fleet.bundle.paper import write_papers
from fleet.models import Cart
from tests.fleet.bundling import Fleet, bundled, on
from tests.round_factories import a_round

pytestmark = pytest.mark.django_db

NOW = on(3, 20)
WHERE_TO = '"value":{"to":"osprey"}'


@pytest.fixture
def fleet():
    return Fleet("harbour")


@pytest.fixture
def carts(fleet):
    return fleet.tell_everything()


def test_nothing_of_another_site_is_told(fleet, carts, tmp_path):
    osprey = Fleet("osprey")
    osprey.tell_everything()

    here, there = (bundled(one.site, tmp_path, NOW, with_names=True) for one in (fleet, osprey))

    assert telling_of("osprey", here) == []
    named = {"rounds", "tags", "reports", "corrections", "people", "rules", "lift_chapters"}
    assert {f"tables/{name}.csv" for name in named} <= set(telling_of("osprey", there))
    keys = {name: {row["cart_id"] for row in here.rows(name)} for name in ("register", "rechecks")}
    theirs = {row["cart_id"] for row in there.rows("register")}
    assert not (keys["register"] | keys["rechecks"]) & theirs


def telling_of(word, read):
    """Return the files that hold a word, whatever their form."""
    return [name for name, data in read.members.items() if word in text_of(name, data).lower()]


def text_of(name, data):
    if not name.endswith(".pdf"):
        # the site's own entry says where it sent a cart
        return data.decode("utf-8", errors="replace").replace(WHERE_TO, "")
    pages = PdfReader(io.BytesIO(data)).pages
    # a word broken at the end of a line is found all the same
    return "".join("".join(page.extract_text().split()) for page in pages)


def test_no_page_of_a_print_tells_of_another_site(fleet, carts, tmp_path):
    osprey = Fleet("osprey")
    register.move_cart(carts["10"], osprey.site, by=fleet.manager, at=on(3, 12))
    moved = Cart.objects.get(pk=carts["10"].pk)
    a_round(moved, by=osprey.mechanic, at=on(3, 14), note="Round at osprey")

    here, there = (
        bundled(one.site, tmp_path, NOW, write_papers=write_papers, with_names=True)
        for one in (fleet, osprey)
    )

    prints = [name for name in here.members if name.endswith(".pdf")]
    assert prints[:2] == ["report/report.pdf", "report/register.pdf"]
    assert set(prints) <= set(telling_of("harbour", here))
    assert telling_of("osprey", here) == []
    assert "report/carts-001.pdf" in telling_of("osprey", there)


def test_cart_that_went_to_another_site_is_told_until_it_went(fleet, carts, tmp_path):
    osprey = Fleet("osprey")
    register.move_cart(carts["10"], osprey.site, by=fleet.manager, at=on(3, 12))
    moved = Cart.objects.get(pk=carts["10"].pk)
    report(moved, "pulls", note="Pulls at osprey", by=osprey.mechanic, at=on(3, 13))
    a_round(moved, by=osprey.mechanic, at=on(3, 14), note="Round at osprey")

    here, there = (bundled(one.site, tmp_path, NOW, with_names=True) for one in (fleet, osprey))

    row = here.row("register", cart="10")
    assert (row["condition"], row["gone_on"]) == ("gone to another site", "2026-03-12")
    assert (row["state"], row["is_lifted"], row["hours_life"]) == ("", "", "")
    assert "10" not in {one["cart"] for one in here.rows("rechecks")}
    assert [one["done_at"][:10] for one in here.rows("rounds") if one["cart"] == "10"] == [
        "2026-03-02",
        "2026-03-04",
    ]
    assert telling_of("osprey", here) == []
    assert there.row("lift_chapters", cart="10")["until_at"] == ""
    assert len([one for one in there.rows("rounds") if one["cart"] == "10"]) == 3
