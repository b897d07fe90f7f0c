from dataclasses import replace
from decimal import Decimal

import pytest
from django.urls import reverse

from fleet.actions import sites
from fleet.actions.sites import BookMoved
from fleet.default_rules import book_from_json, book_to_json, default_book
from fleet.due import Limits
from fleet.forms.rules import RuleForm
from fleet.models import RuleBook
from fleet.rule_files import rule_to_json
from fleet.rule_words import cards, lines_of, start_words
from fleet.rulebook import FROM_DUE, Book, Leeway, Rule, replace_rule
from shared.mistakes import mistakes_of
from shared.models import Change, Role
from tests.factories import MORNING
from tests.lift_factories import a_site, with_role

pytestmark = pytest.mark.django_db
MILE_M = Decimal("1609.344")


@pytest.fixture
def here():
    return a_site()


@pytest.fixture
def signed_in(client, here):
    client.force_login(here[1])
    return client


def rule_of(code, rank="default", **changes):
    found = next(rule for rule in default_book().rules if rule.code == code)
    return replace(found, rank=rank, **changes)


def words(rule, units="inch"):
    return dict(lines_of(rule, units))


def typed(form, **changes):
    """Return what a browser sends of an unbound form, with some of it changed."""
    sent = {name: form.get_initial_for_field(field, name) for name, field in form.fields.items()}
    sent |= {"source": "Harbour's own practice", "reason": "Salt air"}
    return {name: "" if value is None else value for name, value in (sent | changes).items()}


def form_for(rule, book=None, units="inch", data=None):
    return RuleForm(data, rule=rule, book=book or Book((rule,)), units=units)


def sent(rule, book=None, units="inch", **changes):
    return form_for(rule, book, units, typed(form_for(rule, book, units), **changes))


def place_of(site, code):
    row = RuleBook.objects.filter(site=site).last()
    codes = [rule["code"] for rule in row.rules["rules"]]
    return row.version, codes.index(code)


def change(client, site, code, **changes):
    version, place = place_of(site, code)
    url = reverse("rule-change", args=[site.slug, version, place])
    page = client.get(url)
    return client.post(url, typed(page.context["form"], **changes))


def test_a_mistake_names_the_limit_that_it_is_of():
    form = sent(rule_of("settle-check"), leeway_days="soon", stop_days="3")

    assert [said for _where, _title, said in mistakes_of(form)] == [
        "Leeway: Days: Enter a whole number.",
        "Stop: the cart must not run after: Days: The cart would stop before the work is due.",
    ]


def test_words_of_a_rule_that_settles():
    assert words(rule_of("settle-check")) == {
        "Starts when": "the work “Fitting close-out” is done",
        "Due": "25 h, 100 mi or 30 days, whichever comes first",
        "Opens": "after 12.5 h or 50 mi. It settles in use: with less than that, it waits past "
        "its day",
        "Leeway": "2.5 h, 10 mi or 3 days",
        "Stop": "the cart must not run after 40 h, 150 mi or 45 days from the start",
        "Carts": "lifted carts",
        "Asked for by": "the default book: common practice, no source",
    }


def test_words_are_in_the_units_of_the_site():
    assert words(rule_of("first-check"), "metric")["Due"] == (
        "5 h, 40.2 km or 3 days, whichever comes first"
    )


def test_words_of_steps_that_come_again_and_of_a_stop_past_due():
    rule = Rule(
        "oil",
        "oil-round",
        ("joined",),
        ladder=(Limits(days=1), Limits(days=0)),
        every=Limits(hours=Decimal(50)),
        leeway=Leeway(percent=10, max_days=1),
        stop=Limits(days=9),
        stop_from=FROM_DUE,
        use_classes=("rental",),
        kits=("trial-kit",),
        fixed=True,
        unless_done=True,
        keeps_first=True,
    )

    assert words(rule) == {
        "Starts when": "joined",
        "Due": "first: 1 day; second: the same day; every 50 h",
        "Opens": "at 80 % of the limit or 14 days before it, whichever is earlier",
        "Leeway": "10 % of the limit, at most 1 day",
        "Stop": "the cart must not run 9 days past the limit",
        "Carts": "all carts: rental. Kits: trial-kit. A lay-up does not move its days. "
        "Not where the same round did the work. Found again, it keeps its first dates",
        "Asked for by": "the default book",
    }


def test_every_start_of_the_default_book_has_words_of_its_own():
    starts = {start for rule in default_book().rules for start in rule.starts}

    said = {start: start_words(start) for start in starts}
    assert [start for start, text in said.items() if text == start.replace("-", " ")] == []
    assert [text for text in said.values() if ":" in text] == []


def test_cards_say_which_rules_give_way_and_which_are_new():
    default, own = rule_of("label-check"), rule_of("label-check", "site", every=Limits(days=30))
    kit = replace(own, rank="maker", kits=("trial-kit",), every=Limits(days=60))

    said = cards(Book((default, own, kit)), "inch", Book((default, kit)))

    # the site's is stricter than the maker's, so it rules the kit too
    assert [(card.rule.rank, card.holds, card.is_new) for card in said] == [
        ("default", False, False),
        ("site", True, True),
        ("maker", False, False),
    ]


def test_a_form_sent_back_as_shown_is_the_same_rule():
    for rule in default_book().rules:
        if rule.rungs:
            for units in ("inch", "metric"):
                form = sent(rule, units=units)
                assert form.is_valid(), (rule.code, form.errors)
                expected = replace(rule, rank="site", source="Harbour's own practice")
                assert form.made == expected


def test_amounts_are_read_in_the_unit_of_the_site_or_as_typed():
    rule = rule_of("first-check")

    form = sent(rule, step0_metres="20", stop_metres="50 km", step0_hours="4 1/2")

    assert form.is_valid(), form.errors
    assert form.made.ladder == (Limits(3, Decimal("4.5"), 20 * MILE_M),)
    assert form.made.stop.metres == 50_000


@pytest.mark.parametrize(
    ("code", "changes", "field"),
    [
        ("label-check", {"step0_days": ""}, "step0_days"),
        ("label-check", {"step0_days": "-1"}, "step0_days"),
        ("label-check", {"step0_hours": "many"}, "step0_hours"),
        ("label-check", {"step0_hours": "-3"}, "step0_hours"),
        ("label-check", {"reason": " "}, "reason"),
        ("label-check", {"source": ""}, "source"),
        ("label-check", {"rank": "default"}, "rank"),
        ("label-check", {"opens": "after"}, "opens"),
        ("settle-check", {"opens": "at-once"}, "opens"),
        ("label-check", {"leeway_percent": "10", "leeway_days": "3"}, "leeway_percent"),
        ("label-check", {"leeway_max_days": "3"}, "leeway_max_days"),
        ("first-check", {"stop_hours": "4"}, "stop_hours"),
    ],
)
def test_a_form_refuses_what_no_rule_can_be(code, changes, field):
    form = sent(rule_of(code), **changes)

    assert list(form.errors) == [field]


@pytest.mark.parametrize("rank", ["maker", "cart maker", "law or insurer"])
@pytest.mark.parametrize(("days", "accepted"), [(59, True), (60, True), (61, False)])
def test_a_site_may_be_stricter_than_those_above_it_never_looser(rank, days, accepted):
    above = rule_of("label-check", rank, every=Limits(days=60), source="Sheet 4, ed. 2")
    book = Book((rule_of("label-check"), above))

    form = sent(book.rules[0], book, step0_days=str(days))

    assert form.is_valid() == accepted
    if not accepted:
        assert "Sheet 4, ed. 2): every 60 days" in form.non_field_errors()[0]


def test_a_rule_of_another_kit_does_not_bind():
    above = rule_of("label-check", "maker", every=Limits(days=60), kits=("one",))
    own = rule_of("label-check", "site", kits=("two",))

    assert sent(own, Book((own, above)), step0_days="90").is_valid()


def test_a_makers_own_rule_may_follow_a_new_edition(here):
    above = rule_of("label-check", "maker", every=Limits(days=60), source="ed. 2")

    form = sent(above, Book((above,)), step0_days="90", source="ed. 3")

    assert form.is_valid(), form.errors
    assert (form.made.rank, form.made.every) == ("maker", Limits(days=90))


def test_manager_changes_a_rule_from_now_on_with_a_reason(signed_in, here):
    site, manager = here
    old = RuleBook.objects.get(site=site)

    response = change(signed_in, site, "label-check", step0_days="30")

    old.refresh_from_db()
    new = RuleBook.objects.get(site=site, version=2)
    entry = Change.objects.get(pk=new.pk)
    assert response.url == reverse("rule-book", args=[site.slug])
    assert (entry.by, entry.reason, new.reason) == (manager, "Salt air", "Salt air")
    assert new.in_force_from == entry.received_at > old.in_force_from
    book = book_from_json(new.rules)
    chosen = book.rule_for("label-check", use_class="rental", kit="trial-kit")
    assert (chosen.rank, chosen.every) == ("site", Limits(days=30))
    assert book.averages == default_book().averages
    assert old.rules == book_to_json(default_book())


def test_a_change_made_from_an_old_version_is_refused(signed_in, here):
    site, manager = here
    version, place = place_of(site, "label-check")
    url = reverse("rule-change", args=[site.slug, version, place])
    form = signed_in.get(url).context["form"]
    book = book_to_json(default_book())
    sites.change_rules(site, book, reason="Meanwhile", by=manager, at=MORNING)

    response = signed_in.post(url, typed(form, step0_days="30"), follow=True)

    assert "changed in between" in response.text
    assert RuleBook.objects.filter(site=site).count() == 2
    with pytest.raises(BookMoved):
        sites.change_rules(site, book, reason="Late", by=manager, at=MORNING, after=1)


def test_a_rule_that_the_site_added_is_taken_out_again(signed_in, here):
    site, _manager = here
    change(signed_in, site, "label-check", step0_days="30")
    row = RuleBook.objects.get(site=site, version=2)
    rules = row.rules["rules"]
    own = next(place for place, rule in enumerate(rules) if rule.get("rank") == "site")
    default = next(place for place, rule in enumerate(rules) if rule["code"] == "label-check")

    def drop(place, reason):
        url = reverse("rule-drop", args=[site.slug, 2, place])
        signed_in.post(url, {"reason": reason})
        return RuleBook.objects.filter(site=site).count()

    assert drop(default, "Away") == 2
    assert drop(own, "") == 2
    assert drop(own, "Not needed") == 3
    newest = book_from_json(RuleBook.objects.get(site=site, version=3).rules)
    assert newest.rules == default_book().rules


def test_rules_of_a_later_release_are_taken_up_by_a_manager(signed_in, here):
    site, manager = here
    kept = [rule for rule in default_book().rules if rule.code != "label-check"]
    older = book_to_json(default_book()) | {"rules": [rule_to_json(rule) for rule in kept]}
    sites.change_rules(site, older, reason="As of an earlier release", by=manager, at=MORNING)

    page = signed_in.get(reverse("rule-book", args=[site.slug])).text
    url = reverse("book-take-up", args=[site.slug, 2])
    for reason in ("", "They belong to it", "Once more"):
        signed_in.post(url, {"reason": reason})

    assert "A later release brought a rule that this book does not hold:" in page
    newest = RuleBook.objects.get(site=site, version=3)
    assert {rule["code"] for rule in newest.rules["rules"]} == set(default_book().by_code)
    assert RuleBook.objects.filter(site=site).count() == 3
    again = signed_in.get(reverse("rule-book", args=[site.slug])).text
    assert "A later release" not in again


def test_a_rule_without_limits_of_its_own_cannot_be_changed(signed_in, here):
    version, place = place_of(here[0], "joint-not-reached")

    url = reverse("rule-change", args=[here[0].slug, version, place])

    assert signed_in.get(url).status_code == 404
    beyond = reverse("rule-change", args=[here[0].slug, version, 999])
    assert signed_in.get(beyond).status_code == 404


@pytest.mark.parametrize(
    ("role", "changes"), [(Role.MECHANIC, False), (Role.SURVEYOR, False), (Role.MANAGER, True)]
)
def test_rule_book_shows_every_rule_and_lets_managers_change_them(client, here, role, changes):
    site, manager = here
    client.force_login(with_role(site, manager, role))

    response = client.get(reverse("rule-book", args=[site.slug]))

    shown = response.text
    assert shown.count('<details class="reveal" id="rule-') == len(default_book().rules)
    assert (f"/{site.slug}/rules/1/0/change/" in shown) == changes
    assert "Default rules" in shown


def test_an_old_version_is_shown_as_one(signed_in, here):
    site, _manager = here
    change(signed_in, site, "label-check", step0_days="30")

    old = signed_in.get(reverse("rule-book-version", args=[site.slug, 1]))
    new = signed_in.get(reverse("rule-book", args=[site.slug]))

    assert "Version 1: an old one" in old.text
    assert "/change/" not in old.text
    assert new.text.count("(changed in this version)") == 1
    assert [row.record.version for row in new.context["table"].rows] == [2, 1]
    assert signed_in.get(reverse("rule-book-version", args=[site.slug, 3])).status_code == 404


@pytest.mark.parametrize("versions", [1, 3])
def test_rule_book_costs_the_same_however_many_versions(
    signed_in, here, versions, django_assert_num_queries
):
    site, manager = here
    book = default_book()
    for days in range(versions - 1):
        book = replace_rule(
            book, rule_of("label-check", "site", every=Limits(days=days)), effective_from=MORNING
        )
        sites.change_rules(site, book_to_json(book), reason="Again", by=manager, at=MORNING)
    url = reverse("rule-book", args=[site.slug])

    with django_assert_num_queries(10):
        signed_in.get(url)


def test_a_site_without_a_rule_book_says_so(client, here):
    RuleBook.objects.all().delete()
    client.force_login(here[1])

    response = client.get(reverse("rule-book", args=[here[0].slug]))

    assert "no rule book yet" in response.text
