"""What of a site is told: lifted carts alone, from a day on, with names or references."""

import json
from datetime import date

import pytest

from fleet.actions import register
from fleet.actions.meters import add_reading
from fleet.actions.sites import give_role
from fleet.models import Cart
from lifts.actions import fit, remove_lift
from shared.facts import strike
from shared.models import Change, Entry, Person, Role
from tests.fleet.bundling import Fleet, bundled, on
from tests.lift_factories import with_role
from tests.round_factories import a_round

pytestmark = pytest.mark.django_db

NOW = on(3, 20)
ALWAYS = {"site", "role", "rule book", "kit"}
OWNER = "J. Roe, lot 14"


@pytest.fixture
def fleet():
    return Fleet("harbour")


@pytest.fixture
def carts(fleet):
    return fleet.tell_everything()


def shown(read):
    """Return the ids of entries that stand there with their body."""
    return {line["body"]["id"] for line in read.lines if "body" in line}


def entries(**about):
    found = Entry.objects.filter(**about).values_list("fact_id", flat=True)
    return {str(fact_id) for fact_id in found}


def gone_to(other, cart, fleet):
    register.move_cart(cart, other.site, by=fleet.manager, at=on(3, 12))
    return Cart.objects.get(pk=cart.pk)


def test_lifted_carts_alone_are_told(fleet, carts, tmp_path):
    read = bundled(fleet.site, tmp_path, NOW, lifted_only=True)

    assert [row["cart"] for row in read.rows("register")] == ["7", "10"]
    plain = [str(carts[number].pk) for number in ("9", "12")]
    for name, data in read.members.items():
        assert not any(cart_id.encode() in data for cart_id in plain), name
    of_plain = entries(cart_id__in=plain)
    assert of_plain and shown(read) == entries(site=fleet.site) - of_plain
    assert [line["seq"] for line in read.lines] == list(range(1, len(read.lines) + 1))


def test_out_of_scope_an_entry_is_its_number_and_its_hash(fleet, carts, tmp_path):
    read = bundled(fleet.site, tmp_path, NOW, lifted_only=True)

    hidden = [line for line in read.lines if "body" not in line]
    stored = Entry.objects.filter(site=fleet.site, cart_id__in=[carts["9"].pk, carts["12"].pk])
    assert hidden == [
        {"leaf": bytes(entry.leaf).hex(), "seq": entry.seq} for entry in stored.order_by("seq")
    ]


def test_cart_whose_fitting_was_struck_is_not_told(fleet, tmp_path):
    fitting = fit(fleet.cart("20"), fleet.kit, by=fleet.mechanic, at=on(3, 2))
    then = bundled(fleet.site, tmp_path, on(3, 3), lifted_only=True)
    strike(fitting, reason="Another cart", by=fleet.manager, at=on(3, 4))

    now = bundled(fleet.site, tmp_path, NOW, lifted_only=True)

    assert "20" in {row["cart"] for row in then.rows("register")}
    assert "20" not in {row["cart"] for row in now.rows("register")}


def test_lift_of_another_site_makes_no_cart_of_this_one_lifted(fleet, carts, tmp_path):
    osprey = Fleet("osprey")
    moved = gone_to(osprey, carts["9"], fleet)
    fit(moved, osprey.kit, by=osprey.mechanic, at=on(3, 13))

    here, there = (bundled(one.site, tmp_path, NOW, lifted_only=True) for one in (fleet, osprey))

    assert "9" not in {row["cart"] for row in here.rows("register")}
    assert [row["cart"] for row in there.rows("register")] == ["9"]


def test_from_a_day_on_visits_are_told_and_the_rest_as_it_stands(fleet, carts, tmp_path):
    whole = bundled(fleet.site, tmp_path, NOW)
    read = bundled(fleet.site, tmp_path, NOW, from_day=date(2026, 3, 4))

    for name in ("rounds", "readings", "findings"):
        later = [row for row in whole.rows(name) if row["done_at"] >= "2026-03-04"]
        assert 0 < len(later) < len(whole.rows(name)), name
        assert read.rows(name) == later, name
    for name in ("register", "late_list", "lift_chapters", "people", "rules"):
        assert read.rows(name) == whole.rows(name) != [], name


def test_from_a_day_on_the_register_and_the_fittings_keep_their_entries(fleet, carts, tmp_path):
    read = bundled(fleet.site, tmp_path, NOW, from_day=date(2026, 3, 4))

    hidden = entries(site=fleet.site) - shown(read)
    before = Entry.objects.filter(site=fleet.site, received_at__lt=on(3, 4, 0))
    kept = {"shared.change", "lifts.fitting"}
    assert {entry.kind for entry in before if str(entry.fact_id) in hidden}.isdisjoint(kept)
    assert hidden == {
        str(entry.fact_id) for entry in before if entry.kind not in kept and entry.cart_id
    }


def test_day_begins_with_the_first_moment_of_the_site(fleet, carts, tmp_path):
    early = on(3, 4, 0)
    reading = add_reading(carts["9"], hours=5, by=fleet.mechanic, at=NOW, done_at=early)
    read = bundled(fleet.site, tmp_path, NOW, from_day=date(2026, 3, 4))

    assert str(reading.pk) in {row["reading"] for row in read.rows("readings")}


def test_people_stand_as_references_unless_asked(fleet, carts, tmp_path):
    without = bundled(fleet.site, tmp_path, NOW)
    named = bundled(fleet.site, tmp_path, NOW, with_names=True)

    names = [person.name for person in (fleet.manager, fleet.mechanic, fleet.surveyor)]
    assert len(set(names)) == 3
    for name in names:
        assert not any(name.encode() in data for data in without.members.values()), name
        assert name.encode() in named.members["tables/people.csv"]
    assert [row["person"] for row in without.rows("people")] == ["P-0001", "P-0002", "P-0003"]
    assert named.rows("people")[1]["person"] == f"{fleet.mechanic.name} (P-0002)"


def test_who_fitted_a_lift_stands_as_a_reference_unless_asked(fleet, tmp_path):
    typed = {"20": fleet.mechanic.name, "21": f" {fleet.mechanic.name.upper()} ", "22": "Pier Shop"}
    for number, words in typed.items():
        cart = fleet.cart(number, at=on(3, 2))
        fit(cart, fleet.kit, by=fleet.manager, at=on(3, 2, 9), fitted_by=words)

    without = bundled(fleet.site, tmp_path, NOW)
    named = bundled(fleet.site, tmp_path, NOW, with_names=True)

    told = [without.row("lift_chapters", cart=number)["fitted_by"] for number in typed]
    assert told == ["P-0002", "P-0002", "Pier Shop"]
    assert [named.row("lift_chapters", cart=number)["fitted_by"] for number in typed] == list(
        typed.values()
    )
    holding = {
        name for name, data in without.members.items() if fleet.mechanic.name.encode() in data
    }
    assert holding == {"journal/entries.jsonl"}
    assert "who fitted a lift" in without.readme and "word for word" in without.readme
    assert "who fitted a lift" not in named.readme


def test_reference_of_a_person_stays(fleet, carts, tmp_path):
    before = bundled(fleet.site, tmp_path, on(3, 10))
    with_role(fleet.site, fleet.manager, Role.DESK, at=on(3, 11))
    about = (fleet.site, fleet.mechanic, Role.MANAGER, date(2026, 3, 12), None)
    give_role(*about, by=fleet.manager, at=on(3, 12))

    after = bundled(fleet.site, tmp_path, NOW)

    def people(read):
        return {row["person_id"]: row["person"] for row in read.rows("people")}

    assert people(before).items() < people(after).items()
    assert people(after)[str(fleet.mechanic.pk)] == "P-0002"


def test_one_of_another_site_has_a_reference_too(fleet, tmp_path):
    osprey = Fleet("osprey")
    cart = osprey.lifted("30", on(3, 2))
    register.move_cart(cart, fleet.site, by=osprey.manager, at=on(3, 5))

    read = bundled(fleet.site, tmp_path, NOW)

    by = {
        row["by"]
        for row in read.rows(
            "rounds",
        )
    }
    assert by == {f"P-{osprey.mechanic.pk.hex[-8:]}"}
    assert Person.objects.filter(name__in=by).count() == 0


def test_owner_stands_as_a_reference_and_the_entry_is_withheld(fleet, carts, tmp_path):
    cart = fleet.cart("40", at=on(3, 2), owner_ref=OWNER)
    other = fleet.cart("41", at=on(3, 2), owner_ref="Lot 2")

    without = bundled(fleet.site, tmp_path, NOW)
    named = bundled(fleet.site, tmp_path, NOW, with_names=True)

    told = {row["cart"]: row["owner_ref"] for row in without.rows("register")}
    assert [told[number] for number in ("40", "41", "7")] == ["O-0001", "O-0002", ""]
    assert named.row("register", cart="40")["owner_ref"] == OWNER
    for name, data in without.members.items():
        assert OWNER.encode() not in data, name
    withheld = [line for line in without.lines if "withheld" in line]
    stored = Entry.objects.filter(cart_id__in=[cart.pk, other.pk]).order_by("seq")
    assert withheld == [
        {"leaf": bytes(entry.leaf).hex(), "seq": entry.seq, "withheld": "owner"} for entry in stored
    ]
    assert "2 entries are withheld" in without.readme
    assert all("body" in line for line in named.lines)


def test_what_is_about_no_cart_is_told_in_every_scope(fleet, carts, tmp_path):
    read = bundled(fleet.site, tmp_path, NOW, from_day=date(2026, 3, 19), lifted_only=True)

    of_site = Change.objects.filter(site=fleet.site, cart_id=None)
    assert set(of_site.values_list("what", flat=True)) == ALWAYS
    assert {str(pk) for pk in of_site.values_list("pk", flat=True)} <= shown(read)


def test_manifest_and_readme_say_the_scope(fleet, carts, tmp_path):
    read = bundled(
        fleet.site, tmp_path, NOW, from_day=date(2026, 3, 4), lifted_only=True, with_names=True
    )

    said = [read.manifest[name] for name in ("from_day", "lifted_only", "with_names")]
    assert said == ["2026-03-04", True, True]
    words = " ".join(read.readme.split())
    assert "the like from 2026-03-04 on" in words
    assert "Only carts that have or had a lift." in words
    assert "stand with their names" in words


def test_entries_elsewhere_are_listed(fleet, carts, tmp_path):
    osprey = Fleet("osprey")
    a_round(gone_to(osprey, carts["10"], fleet), by=osprey.mechanic, at=on(3, 14))

    here, there = (bundled(one.site, tmp_path, NOW) for one in (fleet, osprey))

    assert "journal/elsewhere.txt" not in here.members
    listed = there.members["journal/elsewhere.txt"].decode().split()
    assert set(listed) == entries(site=fleet.site, cart_id=carts["10"].pk)
    assert listed == sorted(listed)
    told = {row["round"] for row in there.rows("rounds")}
    held = {line["body"]["id"] for line in there.lines}
    assert told & set(listed) and told & held and told <= set(listed) | held
    assert json.dumps(there.manifest).count("journal/elsewhere.txt") == 1


def test_lift_that_is_off_again_keeps_its_cart_in_scope(fleet, tmp_path):
    cart = fleet.cart("20")
    fitting = fit(cart, fleet.kit, by=fleet.mechanic, at=on(3, 2))
    removal = remove_lift(fitting, "Sold without", by=fleet.mechanic, at=on(3, 3))

    read = bundled(fleet.site, tmp_path, NOW, lifted_only=True, from_day=date(2026, 3, 19))

    assert [row["is_lifted"] for row in read.rows("register")] == ["no"]
    assert {str(fitting.pk), str(removal.pk)} <= shown(read)
