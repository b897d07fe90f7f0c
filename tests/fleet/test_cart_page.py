"""The cart list, the cart's page, and what is recorded from it."""

import csv
import io
from datetime import timedelta
from decimal import Decimal

import pytest
from django.urls import reverse

from fleet.actions import meters, project, register, sites, tags
from fleet.cart_acts import ACTS
from fleet.models import Cart, MeterFitted, Note, Reading, Recheck, RecheckOrder
from fleet.telling_facts import Where, detail_of
from lifts.actions import fit
from shared import clock
from shared.facts import correction_of, record, strike
from shared.models import Change, Entry, Role, Site, new_id
from tests.factories import MORNING, CartFactory
from tests.lift_factories import a_cart, a_kit, a_site, with_role
from tests.round_factories import a_round

pytestmark = pytest.mark.django_db
NOW = MORNING + timedelta(days=40)
QUERIES_FOR_A_PAGE = 47


class Yard:
    """A site with a lifted cart read three times, its manager signed in."""

    def __init__(self, client):
        self.client = client
        self.site, self.manager = a_site()
        self.cart = a_cart(self.site, self.manager, bay="B1", use_class="rental")
        who = {"by": self.manager, "at": MORNING}
        meters.fit_meter(self.cart, "hours", Decimal("412.0"), unit="h", rolls_at=10_000, **who)
        meters.fit_meter(self.cart, "distance", Decimal("1850.0"), unit="mi", **who)
        fit(self.cart, a_kit(self.site, self.manager), by=self.manager, at=MORNING)
        for days, hours in ((14, "430.5"), (28, "446.0")):
            at = MORNING + timedelta(days=days)
            meters.add_reading(self.cart, hours=Decimal(hours), by=self.manager, at=at)
        client.force_login(self.manager)

    def url(self, name="cart-detail", cart=None):
        return reverse(name, args=[self.site.slug, (cart or self.cart).pk])

    def page(self, **asked):
        return self.client.get(self.url(), asked)

    def act(self, name, **typed):
        return self.client.post(self.url(name), {"act": str(new_id()), **typed})

    def now(self):
        return Cart.objects.get(pk=self.cart.pk)


@pytest.fixture
def yard(client, monkeypatch):
    monkeypatch.setattr(clock, "now", lambda: NOW)
    return Yard(client)


def test_the_page_says_what_the_desk_would_say(yard):
    stands = yard.page().context["said"]
    tags.tag_cart(yard.cart, "slack", by=yard.manager, at=NOW)
    tagged = yard.page().context["said"]

    assert (stands.word, stands.why) == (
        "NO",
        "stopped: a recheck is past its stop limit; on stands in the shop",
    )
    assert tagged.why.startswith("the shop has a tag on it")


def test_the_page_shows_readings_at_which_work_falls_due(yard):
    a_round(yard.cart, by=yard.manager, at=MORNING + timedelta(days=28, hours=1))

    rows = {row.what: row for row in yard.page().context["active"]}

    assert rows["First check"].at_reading.startswith("451.0 h, 1,875.0 mi")
    assert rows["Settle check"].at_reading == "471.0 h, 1,950.0 mi"


def test_the_page_plots_the_use_and_says_its_rate(yard):
    context = yard.page().context

    assert context["plot"].startswith("<svg")
    assert context["rate"].startswith("1.21 h a day (")


def test_a_cart_without_a_meter_has_no_plot(yard):
    plain = a_cart(yard.site, yard.manager, number="8")

    context = yard.client.get(yard.url(cart=plain)).context

    assert (context["plot"], context["rate"]) == ("", "")


def told(yard, **asked):
    return [(item.title, item.detail) for item in yard.page(**asked).context["items"]]


def test_the_timeline_tells_what_happened_newest_first(yard):
    a_round(yard.cart, by=yard.manager, at=NOW, parts=("joints", "label"), note="all well")
    tags.add_note(yard.cart, "seat torn", by=yard.manager, at=NOW)
    tags.report(yard.cart, "kerb hit", note="pier", by=yard.manager, at=NOW)

    assert told(yard)[:5] == [
        ("Report", "kerb hit; pier"),
        ("Note", "seat torn"),
        ("Round", "Joints; Warning label; all well"),
        ("Reading", "446.0 h"),
        ("Reading", "430.5 h"),
    ]


def test_what_was_struck_or_corrected_stays_readable_with_who_and_why(yard):
    first, second = Reading.objects.order_by("done_at")
    other = with_role(yard.site, yard.manager, at=MORNING)
    strike(first, reason="wrong cart", by=other, at=NOW)
    again = correction_of(second, reason="a slip", by=other, hours_shown=Decimal("447.0"))
    record(again, at=NOW)
    project.carts([yard.cart.pk])

    items = [item for item in yard.page().context["items"] if item.title == "Reading"]

    assert [(item.detail, item.corrects) for item in items] == [
        ("447.0 h", True),
        ("446.0 h", False),
        ("430.5 h", False),
    ]
    taken = [item.taken_back for item in items]
    assert taken[0] is None
    assert [(one.is_struck, one.by, one.why) for one in taken[1:]] == [
        (False, other.name, "a slip"),
        (True, other.name, "wrong cart"),
    ]
    page = yard.page().content.decode()
    assert "<del><strong>Reading</strong> 430.5 h</del>" in page
    assert f"struck by {other.name}: wrong cart" in page


def test_the_timeline_comes_in_pages_that_hold_every_entry_once(yard):
    for n in range(60):
        tags.add_note(yard.cart, f"note {n}", by=yard.manager, at=NOW)

    pages = [told(yard, page=page) for page in (1, 2)]

    notes = [detail for page in pages for title, detail in page if title == "Note"]
    assert notes == [f"note {n}" for n in reversed(range(60))]


@pytest.mark.parametrize("count", [1, 30])
def test_the_page_costs_the_same_however_much_happened(yard, count, django_assert_num_queries):
    for n in range(count):
        person = with_role(yard.site, yard.manager, at=MORNING)
        tags.add_note(yard.cart, f"note {n}", by=person, at=NOW)

    with django_assert_num_queries(QUERIES_FOR_A_PAGE):
        yard.page()


@pytest.mark.parametrize(
    ("kind", "said", "words"),
    [
        (
            "fleet.handback",
            {"done": "new pin", "drive_note": "", "repaired_by": "a", "by": "a"},
            "new pin; released by the same person",
        ),
        (
            "fleet.handback",
            {"done": "new pin", "drive_note": "ran straight", "repaired_by": "b", "by": "a"},
            "new pin; ran straight",
        ),
        (
            "shared.change",
            {"value": {"bay": "B2", "plate": "secret", "seats": None}, "reason": "full"},
            "bay: B2; full",
        ),
        (
            "shared.change",
            {"value": {"tyre": "22x11-10", "tyre_mm": "558.8"}, "reason": ""},
            "tyres: 22x11-10; diameter: 22.0 in",
        ),
        (
            "shared.change",
            {"value": {"grease-round": "2026-02-03", "fitting": "some id"}, "reason": "seen"},
            "Grease round: 02/03/2026; seen",
        ),
        ("lifts.wheeloff", {"wheel": "left front", "reason": ""}, "left front"),
    ],
)
def test_detail_of_an_entry(kind, said, words):
    assert detail_of(kind, said, Where(Site(units="inch", date_order="mdy"))) == words


def test_a_reading_is_told_in_the_unit_of_the_meter_it_was_read_from():
    where = Where(Site(units="inch"), [(MORNING, "km"), (NOW, "mi")])
    said = {"hours_shown": None, "distance_shown": "12.5", "source": "desk", "doubted": ""}
    said |= {"hours_rolled": False, "distance_rolled": False}

    told = [
        detail_of("fleet.reading", said | {"done_at": at.isoformat()}, where)
        for at in (MORNING - timedelta(days=1), MORNING, NOW)
    ]

    assert told == ["12.5 mi", "12.5 km", "12.5 mi"]


def read(yard, **typed):
    return yard.act("reading-create", **typed)


def test_a_reading_is_recorded_in_the_meters_own_unit(yard):
    response = read(yard, hours="450.5", distance="3,000 km")

    reading = Reading.objects.latest("received_at")
    assert response.url == yard.url()
    assert (reading.hours_shown, reading.distance_shown) == (Decimal("450.5"), Decimal("1864.114"))
    assert reading.typed == "450.5; 3,000 km"
    assert yard.now().hours_shown == Decimal("450.5")


@pytest.mark.parametrize(
    ("typed", "answer", "kept"),
    [
        ({"hours": "440"}, "", 2),
        ({"hours": "440"}, "right", 2),
        ({"hours": "440"}, "slip", 2),
        ({"hours": "440"}, "changed", 2),
        ({"hours": "440"}, "other cart", 2),
        ({"hours": "440"}, "rolled", 3),
        ({"hours": "900"}, "", 2),
        ({"hours": "900"}, "right", 2),
        ({"hours": "620"}, "", 2),
        ({"hours": "620"}, "right", 3),
    ],
)
def test_a_doubted_reading_asks_one_question_first(yard, typed, answer, kept):
    response = read(yard, **typed, why=answer)

    assert Reading.objects.count() == kept
    if not answer:
        assert "Why?" in response.content.decode()


def test_a_changed_meter_leads_to_the_meters_form(yard):
    assert read(yard, hours="3", why="changed").url == yard.url("cart-meter")


def test_a_reading_that_was_rolled_over_is_kept_so(yard):
    read(yard, hours="440", why="rolled")

    assert Reading.objects.latest("received_at").hours_rolled


def test_a_reading_of_nothing_is_refused(yard):
    response = read(yard)

    assert Reading.objects.count() == 2
    assert "Type what one of the meters shows." in response.content.decode()


def test_the_same_reading_sent_twice_is_one(yard):
    typed = {"hours": "450", "act": str(new_id())}
    for _ in range(2):
        yard.client.post(yard.url("reading-create"), typed)

    assert Reading.objects.count() == 3


def test_a_meter_changed_is_recorded_with_both_figures(yard):
    yard.act(
        "cart-meter",
        measure="hours",
        start_shown="0.0",
        old_final="450.0",
        done_on="2026-04-11",
    )

    meter = MeterFitted.objects.latest("received_at")
    assert (meter.unit, meter.start_shown, meter.old_final) == ("h", 0, 450)
    assert (yard.now().hours_shown, yard.now().hours_life) == (0, 450)


def test_a_note_is_recorded(yard):
    yard.act("cart-note", text="seat torn")

    assert [note.text for note in Note.objects.all()] == ["seat torn"]


def test_a_cart_is_laid_up_and_woken(yard):
    Recheck.objects.filter(kind_code="fitting-close-out")
    a_round(yard.cart, by=yard.manager, at=NOW)
    yard.act("cart-lay-up", done_on="2026-04-11", reason="winter")
    rests = yard.now().condition
    yard.act("cart-wake", done_on="2026-04-11")

    assert (rests, yard.now().condition) == ("laid up", "in use")


def test_a_cart_is_not_woken_before_it_was_laid_up(yard):
    yard.act("cart-lay-up", done_on="2026-04-10", reason="winter")

    early = yard.act("cart-wake", done_on="2026-04-09")

    assert list(early.context["form"].errors) == ["done_on"]
    assert yard.now().condition == "laid up"


def test_a_cart_woken_on_the_day_it_was_laid_up_rests_no_more(yard):
    register.lay_up(yard.cart, by=yard.manager, at=NOW - timedelta(hours=30))

    yard.act("cart-wake", done_on=f"{yard.site.day(NOW - timedelta(hours=30))}")

    assert yard.now().condition == "on stands"


def test_a_cart_is_not_laid_up_again_before_it_was_woken(yard):
    yard.act("cart-lay-up", done_on="2026-04-08")
    yard.act("cart-wake", done_on="2026-04-10")

    early = yard.act("cart-lay-up", done_on="2026-04-09")

    assert list(early.context["form"].errors) == ["done_on"]


def test_waking_a_cart_that_does_not_rest_records_nothing(yard):
    before = Change.objects.count()

    response = yard.act("cart-wake", done_on="2026-04-11")

    assert (response.url, Change.objects.count()) == (yard.url(), before)


def test_only_what_is_changed_of_the_register_is_recorded(yard):
    typed = {"number": "7", "bay": "B9", "use_class": "staff", "seats": "4"}

    yard.act("cart-register", **typed)

    change = Change.objects.latest("received_at")
    assert (change.what, change.value) == (
        "register",
        {"bay": "B9", "use_class": "staff", "seats": 4},
    )
    assert (yard.now().bay, yard.now().use_class, yard.now().seats) == ("B9", "staff", 4)


def test_a_number_that_another_cart_carries_is_refused(yard):
    a_cart(yard.site, yard.manager, number="8")

    response = yard.act("cart-register", number="8", use_class="rental")

    assert "Another cart carries number 8 today." in response.content.decode()
    assert yard.now().number == "7"


def test_other_tyres_call_for_their_checks(yard):
    yard.act("cart-tyres", tyre="22x11-10", tyre_mm="22 in", done_on="2026-04-11")

    assert yard.now().tyre_mm == Decimal("558.8")
    rules = set(Recheck.objects.active().values_list("rule_code", flat=True))
    assert {"tyre-size-lugs", "tyre-size-speed", "tyre-size-brake"} <= rules


def test_a_recheck_may_be_ordered_from_today_on(yard):
    about = {"kind_code": "label-check", "reason": "asked for"}
    yard.act("cart-order", due_on="2026-04-10", **about)
    yard.act("cart-order", due_on="2026-04-11", **about)

    assert [str(order.due_on) for order in RecheckOrder.objects.all()] == ["2026-04-11"]


def test_a_cart_moves_only_to_a_site_that_its_manager_manages(yard):
    island, other = a_site("island")
    strange, _ = a_site("strange")
    with_role(island, other)
    before = yard.act("cart-move", to_site=str(strange.pk))
    member(yard.manager, island, other)
    yard.act("cart-move", to_site=str(island.pk))

    assert before.status_code == 200
    assert yard.now().site_id == island.pk


def member(person, site, by):
    site.memberships.create(person=person, role=Role.MANAGER, from_day="2026-01-01")


def test_a_cart_that_left_keeps_its_page_and_takes_nothing_more(yard):
    yard.act("cart-leave", done_on="2026-04-11", reason="sold")
    before = Reading.objects.count()
    read(yard, hours="450")

    page = yard.page()
    assert page.context["said"].why == "left the fleet"
    assert page.context["acts"] == []
    assert Reading.objects.count() == before


def test_a_day_before_the_cart_joined_is_refused(yard):
    response = yard.act("cart-lay-up", done_on="2026-01-01")

    assert "A day from 03/02/2026 to 04/11/2026." in response.content.decode()


@pytest.mark.parametrize("act", ACTS, ids=lambda act: act.name)
def test_each_act_only_happens_by_post(yard, act):
    before = Change.objects.count()

    response = yard.client.get(yard.url(act.url_name))

    assert response.status_code in (200, 302)
    assert Change.objects.count() == before


def test_a_surveyor_reads_the_page_and_is_offered_nothing(yard):
    yard.client.force_login(with_role(yard.site, yard.manager, Role.SURVEYOR, at=MORNING))

    context = yard.page().context

    assert (context["may_write"], context["acts"]) == (False, [])


def numbers(response):
    return [row.record.number for row in response.context["table"].rows]


@pytest.mark.parametrize(
    ("asked", "wanted"),
    [
        ({}, ["1", "2", "3"]),
        ({"number": "2"}, ["2"]),
        ({"number": "SN9"}, ["3"]),
        ({"mark": "lifted"}, ["1"]),
        ({"mark": "plain"}, ["2", "3"]),
        ({"mark": "tagged"}, ["2"]),
        ({"mark": "unproven"}, ["1"]),
        ({"condition": "left"}, ["4"]),
        ({"use_class": "staff"}, ["3"]),
        ({"condition": "in the pond"}, ["1", "2", "3"]),
    ],
)
def test_the_cart_list_is_narrowed_by_what_is_asked(client, monkeypatch, asked, wanted):
    monkeypatch.setattr(clock, "now", lambda: NOW)
    site, manager = a_site()
    client.force_login(manager)
    CartFactory(site=site, number="1", is_lifted=True, is_unproven=True)
    CartFactory(site=site, number="2", is_tagged=True)
    CartFactory(site=site, number="3", serial="SN9", use_class="staff")
    CartFactory(site=site, number="4", condition="left")
    CartFactory(number="2")

    assert numbers(client.get(reverse("cart-list", args=[site.slug]), asked)) == wanted


def test_the_cart_list_is_a_csv_file_too(yard):
    response = yard.client.get(reverse("cart-list", args=[yard.site.slug]), {"file": "csv"})

    text = b"".join(response.streaming_content).decode("utf-8-sig")
    [row] = csv.DictReader(io.StringIO(text))
    assert (row["Cart"], row["Goes?"], row["Hours"], row["Last read"]) == (
        "7",
        "NO",
        "446.000",
        "2026-03-30",
    )


@pytest.mark.parametrize("count", [1, 30])
def test_the_cart_list_costs_the_same_however_long(
    client, monkeypatch, count, django_assert_num_queries
):
    monkeypatch.setattr(clock, "now", lambda: NOW)
    site, manager = a_site()
    client.force_login(manager)
    CartFactory.create_batch(count, site=site, is_lifted=True)

    with django_assert_num_queries(7):
        client.get(reverse("cart-list", args=[site.slug]))


def striking(yard, fact, **typed):
    url = reverse("entry-strike", args=[yard.site.slug, yard.cart.pk, fact.pk])
    return yard.client.post(url, typed) if typed else yard.client.get(url)


def test_a_reading_typed_wrong_is_taken_back_and_counts_no_more(yard):
    due = Recheck.objects.get(cart=yard.cart, kind_code="fitting-close-out").due_on
    wrong = meters.add_reading(yard.cart, hours=Decimal("4460"), by=yard.manager, at=NOW)
    url = reverse("entry-strike", args=[yard.site.slug, yard.cart.pk, wrong.pk])

    offered = url in yard.page().content.decode()
    asked = striking(yard, wrong)
    response = striking(yard, wrong, reason="a nought too many")

    assert offered and "4,460.0" in asked.content.decode()
    assert response.status_code == 302
    assert yard.now().hours_life == Decimal("446.000")
    assert Recheck.objects.get(cart=yard.cart, kind_code="fitting-close-out").due_on == due
    assert "a nought too many" in yard.page().content.decode()
    assert project.differences([yard.cart.pk]) == []


def test_an_entry_taken_back_twice_is_taken_back_once(yard):
    wrong = tags.tag_cart(yard.cart, "wrong cart", by=yard.manager, at=NOW)

    striking(yard, wrong, reason="the other cart")
    entries = Entry.objects.count()
    striking(yard, wrong, reason="the other cart")
    striking(yard, wrong, reason="again")

    assert not yard.now().is_tagged
    assert Entry.objects.count() == entries


def test_what_others_hang_on_is_not_taken_back_by_itself(yard):
    visit = a_round(yard.cart, by=yard.manager, at=NOW, hours=Decimal(450))
    joined = Change.objects.get(what="joined", cart_id=yard.cart.pk)
    reading = Reading.objects.get(round_id=visit.round.pk)

    answers = [striking(yard, fact, reason="no") for fact in (joined, reading, visit.round)]

    assert [answer.status_code for answer in answers] == [404, 404, 404]


def test_an_entry_of_the_site_before_is_taken_back_at_the_new_one(yard):
    wrong = tags.tag_cart(yard.cart, "wrong cart", by=yard.manager, at=NOW)
    marina, boss = a_site("marina")
    sites.give_role(marina, yard.manager, Role.MANAGER, MORNING.date(), None, by=boss, at=NOW)
    register.move_cart(yard.cart, marina, by=yard.manager, at=NOW)
    url = reverse("entry-strike", args=["marina", yard.cart.pk, wrong.pk])

    yard.client.post(url, {"reason": "the other cart"})

    assert not yard.now().is_tagged
    assert Entry.objects.get(corrects=wrong.pk).site_id == marina.pk
    assert project.differences([yard.cart.pk]) == []
