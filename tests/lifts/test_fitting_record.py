"""A fitting record: what is asked, kept, shown, flagged, told again and compared."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.urls import reverse

from fleet.actions import project, register
from fleet.gather import TOLD_COUNTS
from fleet.models import Cart, Recheck
from lifts.actions import WrongSite, correct_fitting, fit, remove_lift
from lifts.fitting_lengths import LENGTHS
from lifts.fitting_record import compared, record_of, warnings_of
from lifts.forms_fittings import FittingAgainForm, FittingForm
from lifts.models import Fitting, FittingLength
from shared import clock
from shared.facts import NotStanding
from shared.models import Change, Entry, new_id
from tests.factories import MORNING
from tests.lift_factories import a_cart, a_kit, a_site, with_role
from tests.round_factories import a_round

pytestmark = pytest.mark.django_db
HOUR, DAY = timedelta(hours=1), timedelta(days=1)
NOW = MORNING + 30 * DAY
WHOLE = {
    "fitted_by": "Ann",
    "firm": "Own shop",
    "competence": "card 12",
    "paperwork": "partial",
    "block_left_after": "3",
    "block_right_after": "3",
    "block_taper": "thick end to the front",
    "block_why": "the kit’s",
    "u_bolts_new": "yes",
    "u_bolt_thread": "M10",
    "u_bolt_leg_after": "150 mm",
    "u_bolts_a_side": "2",
    "u_bolt_grade": "none seen",
    "u_bolt_batch": "B7",
    "reused_parts": "shock bolts",
    "locker_used": "medium, frame bolts",
    "hub_bearing": "sealed",
    "wheel_diameter_before": "8",
    "wheel_diameter_after": "10",
    "wheel_offset_before": "0",
    "wheel_offset_after": "-1 1/2",
    "lug_seat": "cone 60",
    "tyre_before": "18x8.5-8",
    "tyre_before_size": "18",
    "tyre_after": "22x11-10",
    "tyre_after_size": "22",
    "tyre_rating": "4 ply",
    "track_front_before": "35",
    "track_front_after": "38",
    "ride_lf_before": "10",
    "ride_lf_after": "14",
    "ride_rf_after": "14",
    "brake_travel_after": "1",
    "cable_bracket_after": "20 mm",
    "brake_tensioned": "yes",
    "clear_at_lock": "no",
    "handed_to": "front desk",
    "label_batch": "L3",
    "note": "windy",
}


@pytest.fixture(autouse=True)
def _now(monkeypatch):
    monkeypatch.setattr(clock, "now", lambda: NOW)


@pytest.fixture
def today(site):
    return site.day(NOW)


def filled(cart, kit, today, **changes):
    said = {"act": str(new_id()), "done_on": str(today), "kit": str(kit.pk), **WHOLE, **changes}
    form = FittingForm(cart, today, said)
    assert form.is_valid(), form.errors
    return form


def fitted(cart, kit, manager, today, *, at=MORNING, **changes):
    form = filled(cart, kit, today, **changes)
    about = {"lines": form.lines(), **form.about()}
    return fit(cart, kit, by=manager, at=at, **about)


def shown(fitting):
    groups = record_of(fitting, fitting.lines.order_by("place"))
    return {row.name: row for group in groups for row in group.rows}


def lengths(**mm):
    return [
        FittingLength(what=one.what, where=one.where, after_mm=Decimal(mm[one.name]))
        for one in LENGTHS
        if one.name in mm
    ]


def test_every_field_that_is_asked_is_kept_and_shown(cart, kit, manager, today):
    fitting = fitted(cart, kit, manager, today)

    rows = shown(Fitting.objects.get(pk=fitting.pk))

    sizes = {"tyre_before_size", "tyre_after_size"}
    names = {name.removesuffix("_before").removesuffix("_after") for name in set(WHOLE) - sizes}
    tyres = {"tyre_before", "tyre_after"}
    empty = [name for name in names - {"tyre"} | tyres if not rows[name].value]
    assert empty == []
    assert rows["wheel_offset"].value == "0.000 in → −1.500 in".replace("−", "-")
    assert rows["u_bolt_leg"].value == "150 mm"
    assert rows["tyre_after"].value == "22x11-10, 22.000 in"


def test_the_form_asks_for_no_more_than_kit_and_papers(cart, kit, today):
    said = {"act": str(new_id()), "done_on": str(today), "kit": str(kit.pk), "paperwork": "none"}

    form = FittingForm(cart, today, said)

    assert form.is_valid()
    assert form.lines() == []
    assert FittingForm(cart, today, said | {"paperwork": "full"}).errors.keys() == {"fitted_by"}


def test_a_diameter_now_asks_what_stands_on_the_tyres(cart, kit, today):
    said = {"act": str(new_id()), "done_on": str(today), "kit": str(kit.pk), "paperwork": "none"}
    said |= {"tyre_after_size": "22"}

    assert FittingForm(cart, today, said).errors.keys() == {"tyre_after"}
    assert FittingForm(cart, today, said | {"tyre_after": "nothing to read"}).is_valid()


@pytest.mark.parametrize(
    ("name", "typed", "is_taken"),
    [
        ("wheel_offset_after", "-38 mm", True),
        ("wheel_offset_after", "0", True),
        ("wheel_offset_after", "-301 mm", False),
        ("ride_lf_after", "-3", False),
        ("cable_bracket_after", "0", True),
        ("track_front_after", "3001 mm", False),
    ],
)
def test_only_an_offset_may_be_negative(cart, kit, today, name, typed, is_taken):
    said = {"act": str(new_id()), "done_on": str(today), "kit": str(kit.pk), "paperwork": "none"}

    assert FittingForm(cart, today, said | {name: typed}).is_valid() == is_taken


def test_a_group_with_a_mistake_in_it_is_open(cart, kit, today):
    said = {"act": str(new_id()), "done_on": str(today), "kit": str(kit.pk), "paperwork": "none"}

    form = FittingForm(cart, today, said | {"brake_travel_after": "a hand"})

    assert [str(group.title) for group in form.groups() if group.is_open] == ["Brake"]


def test_every_field_of_the_form_stands_on_its_page_once(cart, today):
    form = FittingForm(cart, today)

    drawn = [field.name for field in form.first()]
    drawn += [field.name for group in form.groups() for field in group.fields]

    assert sorted([*drawn, "act"]) == sorted(form.fields)


def test_what_matters_and_is_missing_is_said(cart, kit, manager):
    rows = shown(fit(cart, kit, by=manager, at=MORNING))

    assert rows["handed_to"].is_missing
    assert rows["block_left"].is_missing
    assert not rows["note"].is_missing


def test_the_chapter_says_what_is_not_recorded_in_one_line(client, cart, kit, manager):
    fit(cart, kit, by=manager, at=MORNING, u_bolts_new=True, handed_to="front desk")
    client.force_login(manager)

    page = client.get(cart.get_absolute_url()).text

    said = page.partition("<strong>Not recorded:</strong>")[2].partition("</p>")[0]
    assert "Fitted by; Rise in front; Rise behind; Block, left; " in said
    assert "New U-bolts" not in said
    assert "Handed over" not in said
    assert "Note" not in said


def test_blocks_are_not_missed_where_the_kit_has_none(cart, site, manager):
    kit = a_kit(site, manager, code="shackles", rear="shackle")

    rows = shown(fit(cart, kit, by=manager, at=MORNING))

    assert not rows["block_left"].is_missing
    assert not rows["u_bolt_grade"].is_missing


@pytest.mark.parametrize(
    ("mm", "said"),
    [
        # 12.7 mm is 1/2 in: judgement, no source
        ({"ride_lf": "300", "ride_rf": "312.7"}, []),
        (
            {"ride_lf": "300", "ride_rf": "314"},
            ["Front ride height: right 14.0 mm higher than left"],
        ),
        (
            {"ride_lr": "314", "ride_rr": "300"},
            ["Rear ride height: left 14.0 mm higher than right"],
        ),
        ({"ride_lr": "314"}, []),
        ({"block_left": "76", "block_right": "64"}, ["Blocks differ: left 76.0 mm, right 64.0 mm"]),
        ({"block_left": "76", "block_right": "76"}, []),
    ],
)
def test_sides_that_are_apart_are_flagged(cart, kit, manager, mm, said):
    fitting = fit(cart, kit, by=manager, at=MORNING)
    fitting.site.units = "metric"

    assert warnings_of(fitting, lengths(**mm)) == said


def test_u_bolts_used_again_are_flagged_never_refused(client, cart, kit, manager, site, today):
    client.force_login(with_role(site, manager))
    sent = {"act": str(new_id()), "done_on": str(today), "kit": str(kit.pk)}
    sent |= WHOLE | {"u_bolts_new": "no", "ride_rf_after": "15"}

    page = client.post(reverse("fitting-create", args=[site.slug, cart.pk]), sent, follow=True)

    assert Fitting.objects.get().u_bolts_new is False
    for said in (
        "Old U-bolts were used: never use U-bolts again",
        "Front ride height: right 1.000 in higher than left",
    ):
        assert page.text.count(said) == 2  # once said on saving, once on the chapter


def test_a_fitting_told_again_begins_as_it_was_typed(cart, kit, manager, today):
    fitting = fitted(cart, kit, manager, today)
    form = FittingAgainForm(cart, today)
    form.begin_with(fitting, fitting.lines.order_by("place"))

    sent = {name: form.initial.get(name) or "" for name in form.fields}
    again = FittingAgainForm(cart, today, sent | {"act": str(new_id()), "reason": "see"})
    again.begin_with(fitting, fitting.lines.all())

    assert again.is_valid(), again.errors
    told = correct_fitting(
        fitting, kit, again.lines(), reason="see", by=manager, at=NOW, **again.about()
    )
    before, after = (
        {name: row.value for name, row in shown(one).items()} for one in (fitting, told)
    )
    assert after == before


def test_a_fitting_is_told_again_with_a_reason(client, cart, kit, manager, site, today):
    fitting = fitted(cart, kit, manager, today)
    client.force_login(with_role(site, manager))
    url = reverse("fitting-correct", args=[site.slug, cart.pk, fitting.pk])
    sent = {"act": str(new_id()), "kit": str(kit.pk), **WHOLE, "firm": "Hills Ltd"}

    refused = client.post(url, sent)
    answer = client.post(url, sent | {"reason": "the sheet says so"})

    assert list(refused.context["form"].errors) == ["reason"]
    told = Fitting.objects.standing(NOW).get()
    assert answer.status_code == 302
    assert (told.firm, told.corrects, told.done_at) == ("Hills Ltd", fitting.pk, MORNING)
    assert Fitting.objects.get(pk=fitting.pk).firm == "Own shop"
    assert client.get(url).status_code == 404


def test_work_that_was_done_stays_done_when_its_fitting_is_told_again(cart, kit, manager):
    fitting = fit(cart, kit, by=manager, at=MORNING)
    last = a_round(cart, by=manager, at=MORNING + 3 * HOUR).round

    told = correct_fitting(fitting, kit, (), reason="slip", by=manager, at=NOW, firm="Hills Ltd")

    closed = Recheck.objects.get(cart=cart, kind_code="fitting-close-out")
    assert (closed.ended_by, closed.chapter) == (last.pk, told.pk)
    assert project.differences([cart.pk]) == []


def test_a_removal_in_the_moment_of_the_fitting_ends_it_told_again_too(cart, kit, manager):
    fitting = fit(cart, kit, by=manager, at=MORNING)
    remove_lift(fitting, "wrong kit", by=manager, at=NOW, done_at=MORNING)

    correct_fitting(fitting, kit, (), reason="slip", by=manager, at=NOW, firm="Hills Ltd")

    assert not Cart.objects.get(pk=cart.pk).is_lifted


def test_told_work_counts_on_for_a_fitting_told_again(cart, kit, manager):
    fitting = fit(cart, kit, by=manager, at=MORNING)
    value = {"joint-round": "2026-03-10", "fitting": str(fitting.pk)}

    register.change_cart(cart, TOLD_COUNTS, value, reason="log", by=manager, at=NOW)
    before = Recheck.objects.get(cart=cart, kind_code="joint-round", ended="")

    told = correct_fitting(fitting, kit, (), reason="slip", by=manager, at=NOW, firm="Hills Ltd")

    after = Recheck.objects.get(cart=cart, kind_code="joint-round", ended="")
    assert (after.due_on, after.chapter) == (before.due_on, told.pk)


@pytest.mark.parametrize(
    ("was", "now", "tyres"),
    [
        ("22x11-10", "23x10-12", ["23x10-12"]),
        ("22x11-10", "22x11-10", ["22x11-10"]),
        ("22x11-10", "", []),
        ("", "23x10-12", ["23x10-12"]),
        ("", "", []),
    ],
)
def test_the_change_of_tyres_follows_a_fitting_told_again(cart, kit, manager, was, now, tyres):
    fitting = fit(cart, kit, by=manager, at=MORNING, tyre_after=was)

    for at in (NOW, NOW + HOUR):
        about = {"tyre_after": now, "firm": str(at)}
        fitting = correct_fitting(fitting, kit, (), reason="slip", by=manager, at=at, **about)

    standing = Change.objects.standing(NOW + HOUR).filter(what="tyre size", cart_id=cart.pk)
    assert [one.value["tyre"] for one in standing] == tyres
    assert [one.done_at for one in standing] == [MORNING for _ in tyres]
    assert Cart.objects.get(pk=cart.pk).tyre == (tyres[0] if tyres else "")


def test_a_diameter_told_again_alone_changes_the_tyres_too(cart, kit, manager):
    fitting = fit(cart, kit, by=manager, at=MORNING, tyre_after="4.80-8")
    again = {"tyre_after": "4.80-8", "tyre_after_mm": Decimal("440")}

    correct_fitting(fitting, kit, (), reason="measured", by=manager, at=NOW, **again)

    assert Cart.objects.get(pk=cart.pk).tyre_mm == 440


def test_a_diameter_told_again_of_tyres_that_it_had_is_told(manager, site, kit):
    cart = a_cart(site, manager, number="8", tyre="4.80-8")
    fitting = fit(cart, kit, by=manager, at=MORNING, tyre_after="4.80-8")
    again = {"tyre_after": "4.80-8", "tyre_after_mm": Decimal("440")}

    correct_fitting(fitting, kit, (), reason="measured", by=manager, at=NOW, **again)

    assert Cart.objects.get(pk=cart.pk).tyre_mm == 440


def test_a_second_press_tells_it_again_once(cart, kit, manager):
    fitting = fit(cart, kit, by=manager, at=MORNING, tyre_after="a")
    about = {"id": new_id(), "reason": "slip", "by": manager, "at": NOW, "tyre_after": "b"}

    for _press in range(2):
        correct_fitting(fitting, kit, (), **about)

    assert Entry.objects.filter(corrects__isnull=False).count() == 2  # the fitting, its tyres


def test_a_fitting_is_told_again_from_the_telling_that_stands(cart, kit, manager):
    fitting = fit(cart, kit, by=manager, at=MORNING)
    about = {"reason": "slip", "by": manager, "at": NOW}
    correct_fitting(fitting, kit, (), **about)

    with pytest.raises(NotStanding):
        correct_fitting(fitting, kit, (), **about)


def test_a_fitting_is_not_told_again_with_a_kit_of_another_site(cart, kit, manager):
    fitting = fit(cart, kit, by=manager, at=MORNING)
    foreign = a_kit(*a_site("hills"))

    with pytest.raises(WrongSite):
        correct_fitting(fitting, foreign, (), reason="slip", by=manager, at=NOW)


def test_compared_records_have_the_same_fields_whatever_was_recorded(cart, kit, manager, today):
    other = a_cart(cart.site, manager, number="8")
    pair = [fitted(cart, kit, manager, today), fit(other, kit, by=manager, at=MORNING)]
    records = [record_of(one, one.lines.order_by("place")) for one in pair]

    rows = [row for _title, group in compared(records, pair) for row in group]

    assert {len(row.values) for row in rows} == {2}
    assert {row.label for row in rows if not row.differs} == {
        "Kit",
        "Rise in front",
        "Rise behind",
        "Wheel width",
        "Track behind",
        "Ride height, left rear",
        "Ride height, right rear",
    }
