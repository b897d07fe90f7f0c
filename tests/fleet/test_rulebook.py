import json
from dataclasses import replace
from datetime import UTC, datetime
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.default_rules import book_from_json, book_to_json
from fleet.layup import LayUpLimits
from fleet.reach import AT_ONCE, Limits
from fleet.rule_files import (
    read_averages,
    read_book,
    read_lay_up_limits,
    read_rules,
    rule_from_json,
    rule_to_json,
)
from fleet.rulebook import Average, Book, Leeway, Rule, looser_than, merge, replace_rule
from tests.fleet.story import BOOK, CONTENTS, TOP

FIRST_CHECK = """
[[rule]]
code = "first-check"
kind = "first-check"
starts = ["closed:fitting-close-out"]
ladder = [{ h = 5, mi = 25, days = 3 }]
opens = "at-once"
leeway = { h = 1, mi = 5, days = 1 }
stop = { h = 10.5, km = 80, days = 7 }
lifted_only = true
rank = "maker"
"""


def rule(**changed):
    given = {"code": "c", "kind": "k", "starts": ("s",), "ladder": (Limits(30, Decimal(25)),)}
    return Rule(**{**given, **changed})


def test_read_rules_reads_limits_exactly():
    (first,) = read_rules(FIRST_CHECK, source="kit sheet")

    assert first.ladder == (Limits(3, Decimal(5), Decimal("40233.6")),)
    assert first.stop == Limits(7, Decimal("10.5"), Decimal(80000))
    assert first.leeway == Leeway(1, Decimal(1), Decimal("8046.72"))
    assert (first.source, first.rank, first.lifted_only) == ("kit sheet", "maker", True)
    assert first.terms(first.ladder[0]).opens == AT_ONCE


@pytest.mark.parametrize(
    ("old", "new", "named"),
    [
        ("lifted_only", "lift_only", "lift_only"),
        ("mi = 25", "miles = 25", "miles"),
        ("mi = 25", "mi = 25, km = 40", "mi or km"),
        ("h = 5", 'h = "5"', "'5'"),
        ("h = 5", "h = -5", "h must be a number from 0 up"),
        ("h = 5", "h = true", "True"),
        ("h = 5", "h = nan", "NaN"),
        ("days = 3", "days = 2.5", "2.5"),
        ("[{ h = 5, mi = 25, days = 3 }]", "[{}]", "every step"),
        ("[{ h = 5, mi = 25, days = 3 }]", "[]", "no limits"),
        ("[{ h = 5, mi = 25, days = 3 }]", "[5]", "a table"),
        ('"at-once"', '"soon"', "soon"),
        ('"maker"', '"boss"', "boss"),
        ("lifted_only = true", 'lifted_only = "yes"', "yes"),
        ("lifted_only = true", "settles = true", "what opens it"),
        ("lifted_only = true", "use_classes = [1]", "use_classes"),
        ("lifted_only = true", 'stop_from = "noon"', "noon"),
        ("lifted_only = true", "code", "not TOML"),
        ("leeway = { h = 1,", "leeway = { percent = 10, h = 1,", "not both"),
        ("leeway = { h = 1,", "leeway = { max_days = 7, h = 1,", "max_days"),
        ('kind = "first-check"', "", "kind is missing"),
        ('code = "first-check"', "code = 5", "code must be a text"),
        ('["closed:fitting-close-out"]', "[]", "nothing starts"),
        ("[[rule]]", "[[rules]]", "rules"),
    ],
)
def test_read_rules_names_what_is_wrong(old, new, named):
    assert old in FIRST_CHECK

    with pytest.raises(ValueError, match=named):
        read_rules(FIRST_CHECK.replace(old, new), source="s")


def test_read_averages_and_lay_up_limits():
    text = """
    [average.rental]
    h = 3.5
    km = 30
    [lay_up]
    longest_days = 100
    void = { h = 2, mi = 1 }
    """

    assert read_averages(text) == {"rental": Average(Decimal("3.5"), Decimal(30000))}
    assert read_lay_up_limits(text) == LayUpLimits(100, Decimal(2), Decimal("1609.344"))


@pytest.mark.parametrize("text", ["[average.a]\nh = 3", "[average.a]\nh = 0\nkm = 1"])
def test_read_averages_needs_hours_and_a_distance(text):
    with pytest.raises(ValueError, match="average a"):
        read_averages(text)


def test_read_lay_up_limits_takes_the_defaults_where_none_are_given():
    assert read_lay_up_limits("") == LayUpLimits()
    with pytest.raises(ValueError, match="void"):
        read_lay_up_limits("[lay_up]\nlongest_days = 9")


@pytest.mark.parametrize("one", BOOK.rules, ids=lambda one: one.code)
def test_rule_from_json_gives_back_every_default_rule(one):
    stored = rule_to_json(one)

    assert rule_from_json(stored) == one
    assert not [value for value in stored.values() if isinstance(value, Decimal)]


def test_rule_from_json_gives_back_a_rule_with_everything():
    full = rule(
        every=Limits(1, Decimal("0.1"), Decimal("0.2")),
        opens=Limits(None, Decimal("12.5")),
        leeway=Leeway(percent=10, max_days=7),
        stop=Limits(9),
        stop_from="due",
        stop_needs=Limits(None, Decimal(1)),
        settles=True,
        fixed=True,
        unless_done=True,
        keeps_first=True,
        takes_over=("a", "b"),
        use_classes=("rental",),
        lifted_only=True,
        kits=("K",),
        source="kit sheet, edition 3",
        rank="maker",
    )

    assert rule_from_json(rule_to_json(full)) == full


def test_rule_from_json_refuses_an_unknown_key():
    with pytest.raises(ValueError, match="colour"):
        rule_from_json({**rule_to_json(rule()), "colour": "red"})


def test_default_rules_are_of_known_kinds_and_each_has_its_source():
    assert {one.kind for one in BOOK.rules} - set(CONTENTS) == set()
    assert len({one.code for one in BOOK.rules}) == len(BOOK.rules)
    assert {one.source for one in BOOK.rules} == {"common practice"}


def test_default_rules_stay_in_the_app_that_owns_the_kind():
    kinds = {}
    for app in ("fleet", "lifts", "alignment"):
        text = (TOP / app / "rules.toml").read_text(encoding="utf-8")
        kinds[app] = {one.kind for one in read_rules(text, source=app)}

    assert kinds["alignment"] == {"camber-toe"}
    assert kinds["fleet"] == set()
    assert "camber-toe" not in kinds["lifts"]


@pytest.mark.parametrize(
    ("limit", "days"), [(Limits(182), 7), (Limits(30), 3), (Limits(9), 0), (Limits(), None)]
)
def test_leeway_by_percent_is_cut_off_in_days(limit, days):
    assert Leeway(percent=10, max_days=7).of(limit).days == days


def test_leeway_by_percent_takes_a_share_of_each_limit():
    found = Leeway(percent=10).of(Limits(182, Decimal(250), Decimal(1000)))

    assert found == Limits(18, Decimal(25), Decimal(100))


def test_terms_count_a_stop_from_due_on_from_the_limit():
    from_due = rule(stop=Limits(5, None, Decimal(9)), stop_from="due")

    found = from_due.terms(Limits(30, Decimal(25)))

    assert found.stop == Limits(35)


def test_book_takes_a_rule_for_the_kit_before_one_for_all():
    of_kit = rule(kits=("K",), ladder=(Limits(40),))

    assert Book((rule(), of_kit)).rule_for("c", use_class="", kit="K") == of_kit


def test_book_takes_the_highest_rank_that_holds():
    maker = rule(rank="maker", kits=("K",), ladder=(Limits(20),))
    book = Book((rule(), maker))

    assert book.rule_for("c", use_class="rental", kit="K") == maker
    assert book.rule_for("c", use_class="rental", kit="L") == rule()
    assert book.rule_for("d", use_class="rental", kit="K") is None


@pytest.mark.parametrize(("days", "rank"), [(10, "site"), (20, "site"), (21, "maker")])
def test_book_takes_a_sites_rule_before_the_makers_unless_it_is_looser(days, rank):
    maker = rule(rank="maker", ladder=(Limits(20),))
    book = Book((maker, rule(rank="site", ladder=(Limits(days),))))

    assert book.rule_for("c", use_class="", kit=None).rank == rank


@pytest.mark.parametrize(
    ("changed", "use_class", "kit", "holds"),
    [
        ({"lifted_only": True}, "rental", None, False),
        ({"lifted_only": True}, "rental", "K", True),
        ({"kits": ("L",)}, "rental", "K", False),
        ({"use_classes": ("staff",)}, "rental", "K", False),
        ({"use_classes": ("staff", "rental")}, "rental", None, True),
    ],
)
def test_book_leaves_out_a_rule_that_is_not_for_the_cart(changed, use_class, kit, holds):
    found = Book((rule(**changed),)).rule_for("c", use_class=use_class, kit=kit)

    assert (found is not None) is holds


def test_book_refuses_kinds_that_start_each_other():
    ring = (rule(code="a", kind="a", starts=("closed:b",)),)
    ring += (rule(code="b", kind="b", starts=("closed:a",)),)

    with pytest.raises(ValueError, match=r"ring: (a > b > a|b > a > b)"):
        Book(ring)


def test_book_refuses_a_kind_that_starts_itself_unless_it_recurs():
    itself = {"kind": "a", "starts": ("closed:a",)}

    with pytest.raises(ValueError, match="a > a"):
        Book((rule(**itself),))
    assert Book((rule(**itself, ladder=(), every=Limits(30)),)).recurring_codes("a") == ["c"]


@pytest.mark.parametrize(
    ("changed", "count"),
    [
        ({}, 0),
        ({"ladder": (Limits(20, Decimal(20)),)}, 0),
        ({"ladder": (Limits(30, Decimal(26)),)}, 2),
        ({"ladder": (Limits(30),)}, 2),
        ({"leeway": Leeway(days=4, hours=Decimal(2))}, 1),
        ({"leeway": Leeway()}, 0),
        ({"stop": Limits(46)}, 1),
        ({"stop": None}, 1),
        ({"starts": ("other",)}, 1),
        ({"ladder": (), "every": Limits(30, Decimal(25))}, 0),
    ],
)
def test_looser_than_names_each_way(changed, count):
    maker = rule(leeway=Leeway(days=3, hours=Decimal(2)), stop=Limits(45), rank="maker")

    assert len(looser_than(replace(maker, **changed), maker)) == count


def test_looser_than_asks_for_every_step_and_for_coming_again():
    maker = rule(every=Limits(90))

    assert looser_than(rule(), maker) == ["step 2 is left out", "it does not come again"]


@given(st.integers(0, 99), st.integers(0, 99))
def test_looser_than_orders_days(site, maker):
    loose = looser_than(rule(ladder=(Limits(site),)), rule(ladder=(Limits(maker),)))

    assert bool(loose) is (site > maker)


def test_merge_unites_rules_and_averages():
    one = read_book("[average.a]\nh = 1\nkm = 1", source="s")
    later = datetime(2026, 1, 1, tzinfo=UTC)
    both = merge([one, Book((rule(),), effective_from=later)])

    assert (both.rules, both.averages) == ((rule(),), one.averages)
    assert both.effective_from == later


def test_merge_refuses_two_averages_of_one_class():
    one = read_book("[average.a]\nh = 1\nkm = 1", source="s")
    two = read_book("[average.a]\nh = 2\nkm = 1", source="s")

    with pytest.raises(ValueError, match="'a'"):
        merge([one, two])


def test_merge_takes_the_lay_up_limits_that_a_book_gives_and_refuses_two():
    one = read_book("[lay_up]\nlongest_days = 9\nvoid = { h = 2, km = 1 }", source="s")
    two = read_book("[lay_up]\nlongest_days = 8\nvoid = { h = 2, km = 1 }", source="s")
    plain = Book((rule(),))

    assert merge([plain, one, plain]).lay_up == LayUpLimits(9, Decimal(2), Decimal(1000))
    with pytest.raises(ValueError, match="longest_days=8"):
        merge([one, plain, two])


def test_a_stored_book_keeps_its_lay_up_limits():
    limits = LayUpLimits(100, Decimal("0.5"), Decimal("1609.344"))
    stored = json.loads(json.dumps(book_to_json(replace(BOOK, lay_up=limits))))

    assert book_from_json(stored) == replace(BOOK, lay_up=limits)
    del stored["lay_up"]
    assert book_from_json(stored).lay_up == LayUpLimits()


def test_replace_rule_leaves_other_ranks_alone():
    maker = rule(rank="maker")
    book = Book((maker, rule(rank="site", ladder=(Limits(9),))))
    at = datetime(2026, 1, 1, tzinfo=UTC)

    changed = replace_rule(book, rule(rank="site", ladder=(Limits(8),)), effective_from=at)

    assert set(changed.rules) == {maker, rule(rank="site", ladder=(Limits(8),))}
    assert changed.effective_from == at
