"""What did the desk know at 14:05 that day, and what is now known to have been so."""

import io
import json
import re
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest
from django.core.management import call_command
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from fleet.actions import meters, register, sites, tags
from fleet.actions.corrections import correct_round, strike_round
from fleet.actions.rounds import TakenDown
from fleet.views import past
from lifts.actions import fit
from shared import clock
from shared.models import Role, new_id
from tests.lift_factories import a_cart, a_kit, a_site, with_role
from tests.round_factories import a_round

pytestmark = pytest.mark.django_db
NEW_YORK = ZoneInfo("America/New_York")
THAT_DAY = datetime(2026, 3, 10, tzinfo=NEW_YORK)
ASKED = "2026-03-10T14:05"
THEN = {"happened": ASKED, "known": ASKED}
NOW = {"happened": ASKED}
READ_ONLY = re.compile(
    r"/harbour/(past/.+|carts/[-0-9a-f]+/(rounds|camber-toe)/[-0-9a-f]+/|kits/[-0-9a-f]+/)"
)
TAGGED = "the shop has a tag on it"
STOPPED = "stopped: a recheck is past its stop limit"


def that_day(hour, minute=0):
    return THAT_DAY.replace(hour=hour, minute=minute)


class Case:
    """A cart whose first check was closed at noon, of which more was known by the evening."""

    def __init__(self, client, monkeypatch):
        self.client = client
        monkeypatch.setattr(clock, "now", lambda: that_day(18))
        fitted_at = THAT_DAY - timedelta(days=8)
        self.site, self.manager = a_site(at=fitted_at)
        self.cart = a_cart(self.site, self.manager, at=fitted_at, seats=4)
        who = {"by": self.manager, "at": fitted_at}
        meters.fit_meter(self.cart, "hours", Decimal("412.0"), unit="h", **who)
        fit(self.cart, a_kit(self.site, self.manager, at=fitted_at), **who)
        a_round(self.cart, **who)
        meters.add_reading(self.cart, hours=Decimal("418.0"), by=self.manager, at=that_day(9))
        first_check = ("joints", "brake", "label")
        done = a_round(self.cart, parts=first_check, by=self.manager, at=that_day(12))
        self.round = done.round
        client.force_login(self.manager)

    def tell_more(self):
        """At 15:00 a tag of 13:50 comes in, at 16:00 the round is struck."""
        who = {"by": self.manager}
        tags.tag_cart(self.cart, "Wheel wobbles", done_at=that_day(13, 50), at=that_day(15), **who)
        strike_round(self.round, reason="Done at cart 8", at=that_day(16), **who)
        return self

    def page(self, name, **asked):
        args = [self.cart.pk] if name == "past-cart" else []
        response = self.client.get(reverse(name, args=[self.site.slug, *args]), asked)
        assert response.status_code == 200
        return response

    def text(self, name, **asked):
        found = re.sub(r"<[^>]+>", " ", self.page(name, **asked).content.decode())
        return re.sub(r"\s+", " ", found)


@pytest.fixture
def case(client, monkeypatch):
    return Case(client, monkeypatch)


def whatsdue(*options):
    out = io.StringIO()
    call_command("whatsdue", "--site", "harbour", "--format", "json", *options, stdout=out)
    return out.getvalue()


def told(*options):
    rows = json.loads(whatsdue(*options))
    return {row["kind"] for row in rows}, {row["tagged"] for row in rows}


def test_the_desk_knew_of_no_tag_and_now_it_is_known(case):
    before = case.text("past-desk", **THEN)
    case.tell_more()

    assert case.text("past-desk", **THEN) == before
    assert "7 GO 4 seats" in before
    assert f"7 NO 4 seats · {TAGGED}; {STOPPED}" in case.text("past-desk", **NOW)


def test_the_carts_page_gives_both_answers_and_says_what_differs(case):
    case.tell_more()

    then, now = (case.page("past-cart", **asked) for asked in (THEN, NOW))

    assert (then.context["said"].word, now.context["said"].word) == ("GO", "NO")
    for page in (then, now):
        differ = {one.what: (one.before, one.after) for one in page.context["changed"]}
        assert differ["The desk's answer"] == ("GO", f"NO: {TAGGED}; {STOPPED}")
        assert differ["First check"] == ("closed Tue Mar 10", "stopped, due Thu Mar 5")


def test_what_a_round_told_again_started_anew_differs_in_nothing(case):
    again = TakenDown(new_id(), case.round.opened_at, corrects=case.round.pk, note="windy")
    again.why_corrected = "The wind was left out"
    correct_round(case.round, again, by=case.manager, at=that_day(15))

    assert case.page("past-cart", **THEN).context["changed"] == []


def test_a_struck_round_had_closed_its_recheck_then_and_not_now(case):
    case.tell_more()
    then, now = (case.page("past-cart", **asked) for asked in (THEN, NOW))

    assert "First check" not in {row.what for row in then.context["active"]}
    assert "First check" in {row.what for row in now.context["active"]}
    said = then.content.decode()
    assert "taken back since" not in said
    assert "Wheel wobbles" not in said
    found = case.text("past-cart", **NOW)
    assert "taken back since : struck by Manager of harbour: Done at cart 8" in found
    assert "Tag Wheel wobbles" in found


def test_the_board_then_and_now(case):
    case.tell_more()
    then, now = (case.page("past-board", **asked).context for asked in (THEN, NOW))

    def kinds(context):
        return {row.what for section in context["sections"] for row in section.rows}

    assert "First check" not in kinds(then)
    assert "First check" in kinds(now)
    assert [tag.reason for tag, _cart in then["board"].tags] == []
    assert [tag.reason for tag, _cart in now["board"].tags] == ["Wheel wobbles"]
    assert then["board"].fleet == {"all": 1, "lifted": 1}
    assert sum(then["board"].counts.values()) == len(json.loads(whatsdue(*both(ASKED))))


def both(moment):
    return ["--happened-by", moment, "--known-by", moment]


def test_whatsdue_gives_both_answers_and_the_first_again_byte_for_byte(case):
    before = whatsdue(*both(ASKED))
    case.tell_more()

    assert whatsdue(*both(ASKED)) == before
    assert whatsdue(*both("2026-03-10T14:05-04:00")) == before
    assert whatsdue("--known-by", ASKED) == before
    (then, tagged_then), (now, tagged_now) = told(*both(ASKED)), told("--happened-by", ASKED)
    assert ("first-check" in then, "first-check" in now) == (False, True)
    assert (tagged_then, tagged_now) == ({False}, {True})


def test_what_was_known_at_half_past_three_is_the_tag_and_not_yet_the_strike(case):
    case.tell_more()

    page = case.page("past-cart", happened=ASKED, known="2026-03-10T15:30")

    assert page.context["said"].why == TAGGED
    assert "First check" not in {row.what for row in page.context["active"]}
    differ = {one.what: (one.before, one.after) for one in page.context["changed"]}
    assert differ["The desk's answer"] == (f"NO: {TAGGED}", f"NO: {TAGGED}; {STOPPED}")


def test_nothing_told_since_is_said_so(case):
    text = case.text("past-cart", **THEN)

    assert "changes neither the desk's answer of that moment nor a recheck" in text


def test_every_past_page_says_that_it_is_not_today(case):
    for name in ("past-board", "past-desk", "past-cart"):
        text = case.text(name, **THEN)
        assert "The past, not today What had happened by 03/10/2026 14:05, as it was known" in text
        now = case.text(name, **NOW)
        assert "with what is known now, 03/10/2026 18:00." in now


def test_the_lifts_on_a_carts_past_page_hold_the_rounds_known_by_the_cut(case):
    case.tell_more()

    then, now = (case.page("past-cart", **asked) for asked in (THEN, NOW))

    noon = that_day(12).astimezone(UTC).isoformat()
    assert [lifts_of(page).count(f'datetime="{noon}"') for page in (then, now)] == [1, 0]


def lifts_of(page):
    """Return the page's part on lifts."""
    html = page.content.decode()
    return html[html.index("<h2>Lifts</h2>") : html.index('<section id="timeline">')]


def test_a_past_page_offers_no_act(case):
    case.tell_more()
    for name in ("past-board", "past-desk", "past-cart"):
        page = case.page(name, **NOW).content.decode()
        main = page[page.index("<main") : page.index("</main>")]
        paths = re.findall(r'<a href="([^"?]+)', main)
        assert 'method="post"' not in main
        assert [path for path in paths if not READ_ONLY.fullmatch(path)] == []


@pytest.mark.parametrize("name", ["past-board", "past-desk", "past-cart"])
def test_without_a_question_a_past_page_asks_for_one(case, name):
    page = case.page(name)

    assert page.context["question"] is None
    assert "Say a moment that is past" in page.content.decode()


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ({"happened": "yesterday"}, "yesterday is neither a day"),
        ({"happened": "2026-03-10T18:01"}, "2026-03-10T18:01 is not over yet"),
        ({"happened": ASKED, "known": "2027-01-01"}, "2027-01-01 is not over yet"),
        ({"happened": "2026-03-08T02:30"}, "The clocks skipped 02:30 that day."),
    ],
)
def test_a_question_that_cannot_be_asked_is_named(case, asked, said):
    page = case.page("past-desk", **asked)

    assert page.context["question"] is None
    assert said in page.content.decode()


def test_the_hour_that_came_twice_is_offered_and_shown_with_its_offset(case, monkeypatch):
    later = datetime(2026, 12, 1, 12, 0, tzinfo=NEW_YORK)
    monkeypatch.setattr(clock, "now", lambda: later)

    page = case.page("past-desk", happened="2026-11-01T01:30").content.decode()
    links = re.findall(r'<a href="(\?happened=2026-11-01[^"]+)">([^<]+)</a>', page)

    assert [words for _address, words in links] == [
        "11/01/2026 01:30 (UTC-04:00)",
        "11/01/2026 01:30 (UTC-05:00)",
    ]
    for address, words in links:
        followed = case.client.get(reverse("past-desk", args=["harbour"]) + address)
        assert f"What had happened by {words}," in followed.content.decode()


def test_whatsdue_tells_the_two_halves_of_the_hour_that_came_twice_apart(case, monkeypatch):
    later = datetime(2026, 12, 1, 12, 0, tzinfo=NEW_YORK)
    monkeypatch.setattr(clock, "now", lambda: later)
    first = datetime(2026, 11, 1, 1, 45, tzinfo=NEW_YORK)
    tags.tag_cart(case.cart, "slack", by=case.manager, at=first)

    assert told(*both("2026-11-01T01:30-04:00"))[1] == {False}
    assert told(*both("2026-11-01T01:50-04:00"))[1] == {True}
    assert told(*both("2026-11-01T01:30-05:00"))[1] == {True}


def test_what_happened_later_is_not_told_though_it_is_known_now(case):
    tags.add_note(case.cart, "Parked", by=case.manager, at=that_day(14, 4))
    tags.add_note(case.cart, "Washed", by=case.manager, at=that_day(14, 6))

    text = case.text("past-cart", **NOW)

    assert ("Washed" in text, "Parked" in text) == (False, True)


def test_the_board_has_the_reports_that_nobody_had_looked_into(case):
    tags.report(case.cart, "noise", by=case.manager, at=that_day(13))
    a_round(case.cart, parts=("label",), by=case.manager, at=that_day(15))

    then, later = (
        case.page("past-board", happened=moment).context["board"].reports
        for moment in (ASKED, "2026-03-10T15:30")
    )

    assert [(report.noticed, cart.number) for report, cart in then] == [("noise", "7")]
    assert later == []


def test_the_desk_as_it_was_has_them_too(case):
    tags.report(case.cart, "noise", by=case.manager, at=that_day(13))
    a_round(case.cart, parts=("label",), by=case.manager, at=that_day(15))

    assert "Reported, and not yet looked into 7 : noise" in case.text("past-desk", **THEN)
    assert "Reported" not in case.text("past-desk", happened="2026-03-10T15:30")


def test_a_long_board_goes_on_where_its_page_ended(case, monkeypatch):
    monkeypatch.setattr(past, "PAGE_ROWS", 1)
    pages = []
    address = f"?happened={ASKED}&known={ASKED}"
    while address:
        page = case.client.get(reverse("past-board", args=["harbour"]) + address)
        pages.append([row for section in page.context["sections"] for row in section.rows])
        found = re.search(r'<a href="(\?[^"]+)" rel="next">', page.content.decode())
        address = found and found.group(1).replace("&amp;", "&")

    assert [len(rows) for rows in pages[:-1]] == [1] * (len(pages) - 1)
    shown = [(row.number, row.what) for rows in pages for row in rows]
    assert shown == [(row["cart"], row["what"]) for row in json.loads(whatsdue(*both(ASKED)))]
    assert len(pages) > 2


def test_an_entry_leads_to_the_cart_as_it_stood_then(case):
    page = case.client.get(reverse("cart-detail", args=["harbour", case.cart.pk]))
    link = re.search(r'<a href="([^"]+)">The cart as it stood then</a>', page.content.decode())

    then = case.client.get(link.group(1).replace("&amp;", "&"))

    assert then.context["question"].cut.happened_by == that_day(12)
    assert then.context["question"].is_known_then
    assert then.context["items"][0].is_round or "Reading" in then.context["items"][0].title


def test_a_cart_not_yet_on_record_is_said_so(case):
    text = case.text("past-cart", happened="2026-02-01", known="2026-02-01")

    assert "No such cart was on record at this site then." in text


def test_a_cart_that_has_gone_is_told_of_until_it_went(case):
    island, _manager = a_site("island", at=THAT_DAY)
    register.move_cart(case.cart, island, by=case.manager, at=that_day(14, 30))
    tags.tag_cart(case.cart, "cracked", done_at=that_day(14), by=case.manager, at=that_day(17))
    case.cart.refresh_from_db()
    tags.add_note(case.cart, "At the island", by=case.manager, at=that_day(17))

    assert case.page("past-cart", **THEN).context["said"].word == "GO"
    assert "No such cart was on record" in case.text("past-cart", happened="2026-03-10T14:31")
    assert "At the island" not in case.text("past-cart", **NOW)


def test_the_site_is_shown_as_it_was(case):
    changed = {"date_order": "dmy", "zone": "Europe/London"}
    sites.change_site(case.site, changed, by=case.manager, at=that_day(16))

    text = case.text("past-desk", **THEN)

    assert "What had happened by 03/10/2026 14:05, as it was known then." in text


def test_a_surveyor_asks_too_and_finds_the_pages_in_the_menu(case, client):
    client.force_login(with_role(case.site, case.manager, Role.SURVEYOR, at=that_day(8)))

    page = case.page("past-board", **THEN)

    assert "As it was" in [str(label) for label, _address, _here in page.context["menu"]]


@pytest.mark.parametrize("name", ["past-board", "past-desk", "past-cart"])
def test_a_past_page_costs_the_same_however_much_was_told(case, name):
    case.tell_more()
    kit = a_kit(case.site, case.manager, code="more", at=that_day(16))
    cost = {}
    for carts in (1, 3):
        with CaptureQueriesContext(connection) as asked:
            case.page(name, happened="2026-03-10T17:30")
        cost[carts] = len(asked)
        for number in (carts + 20, carts + 21):
            cart = a_cart(case.site, case.manager, number=str(number), at=that_day(17))
            fit(cart, kit, by=case.manager, at=that_day(17))
            tags.tag_cart(cart, "slack", by=case.manager, at=that_day(17))
            tags.add_note(case.cart, "Seen", by=case.manager, at=that_day(17))

    assert cost[3] == cost[1] > 0
