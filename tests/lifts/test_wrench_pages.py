"""The pages of the wrench rack: its list, one wrench, and what is recorded of one."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from lifts.actions.wrenches import add_event
from lifts.forms_wrenches import WrenchForm
from lifts.models import Wrench, WrenchCertificate, WrenchCheck, WrenchEvent
from shared import clock
from shared.models import Role, Strike, new_id
from tests.factories import MORNING
from tests.lift_factories import a_site, kit_value, with_role
from tests.wrench_factories import (
    DAY,
    a_certificate,
    a_good_wrench,
    a_quick_check,
    a_wrench,
)

pytestmark = pytest.mark.django_db
NOW = MORNING + timedelta(days=10)
POINTS = "20 N.m | -14 % | 0.5 %\n60 N.m | -2 % | 0 %\n100 N.m | 1 %"
PDF = b"%PDF-1.7 a certificate"


@pytest.fixture(autouse=True)
def _now(monkeypatch):
    monkeypatch.setattr(clock, "now", lambda: NOW)


@pytest.fixture
def wrench(site, manager):
    return a_good_wrench(site, manager)


@pytest.fixture
def mechanic(site, manager):
    return with_role(site, manager, Role.MECHANIC)


def url(name, wrench, *more):
    return reverse(name, args=[wrench.site.slug, wrench.pk, *more])


def shown(client, person, address):
    client.force_login(person)
    return client.get(address).content.decode()


@pytest.mark.parametrize("count", [1, 3])
def test_the_rack_costs_the_same_however_long(
    client, site, manager, count, django_assert_num_queries
):
    for number in range(count):
        a_good_wrench(site, manager, name=f"TW-{number}")
    other, its_manager = a_site("hills")
    a_good_wrench(other, its_manager)
    client.force_login(manager)

    with django_assert_num_queries(9):
        answer = client.get(reverse("wrench-list", args=[site.slug]))

    assert len(answer.context["table"].data) == count


def test_the_rack_says_state_range_and_days(client, site, manager, wrench):
    a_wrench(site, manager, name="TW-2", full_scale_nm="50")
    client.force_login(manager)

    answer = client.get(reverse("wrench-list", args=[site.slug]), {"file": "csv"})

    rows = b"".join(answer.streaming_content).decode().splitlines()[1:]
    assert rows == [
        "TW-1,click,14.8 – 66.4 lbf·ft,good,03/02/2027,04/01/2026,0,03/02/2026 08:00",
        "TW-2,click,7.4 – 33.2 lbf·ft,due: no certificate on record,,,0,",
    ]
    page = shown(client, manager, reverse("wrench-list", args=[site.slug]))
    assert '<span class="state state-due">due</span>' in page
    assert "0 of 5,000" in page


def sent_wrench(**changes):
    sent = {
        "act": str(new_id()),
        "name": "TW-7",
        "type": "click",
        "full_scale": "75 lbf.ft",
        "length": "15 in",
        "adapter": "2.5",
    }
    return sent | changes


def test_a_manager_adds_a_wrench_once_however_often_it_is_sent(client, site, manager):
    client.force_login(manager)
    sent = sent_wrench()

    for _again in range(2):
        answer = client.post(reverse("wrench-create", args=[site.slug]), sent)

    wrench = Wrench.objects.get()
    assert answer.url == wrench.get_absolute_url()
    assert (wrench.full_scale_typed, wrench.full_scale_nm) == ("75 lbf.ft", Decimal("101.6863"))
    assert (wrench.tolerance, wrench.length_mm) == (Decimal("0.04"), 381)
    assert wrench.adapter_mm == Decimal("63.5")
    wrench.full_scale_typed = "75"
    assert wrench.full_scale == "75 lbf·ft"


@pytest.mark.parametrize(
    ("full_scale", "tolerance", "kept"),
    [("10 N.m", "", "0.06"), ("10.1 N.m", "", "0.04"), ("10 N.m", "3", "0.03")],
)
def test_a_tolerance_not_told_is_that_of_iso_6789(site, full_scale, tolerance, kept):
    form = WrenchForm(site, sent_wrench(full_scale=full_scale, tolerance=tolerance))

    assert form.is_valid(), form.errors
    assert form.value()["tolerance"] == kept


def test_a_name_in_use_and_an_adapter_on_no_length_are_said(client, site, manager, wrench):
    client.force_login(manager)
    address = reverse("wrench-create", args=[site.slug])

    known = client.post(address, sent_wrench(name="TW-1"))
    no_length = client.post(address, sent_wrench(length=""))

    assert known.context["form"].errors == {"name": ["This site has a wrench of that name"]}
    assert list(no_length.context["form"].errors) == ["length"]
    assert Wrench.objects.count() == 1


def test_what_is_said_of_a_wrench_changes_with_a_reason(client, site, manager, wrench):
    client.force_login(manager)
    address = url("wrench-change", wrench)
    begun = client.get(address).context["form"].initial

    client.post(address, {**begun, "name": "TW-9"})
    assert Wrench.objects.get().name == "TW-1"

    client.post(address, {**begun, "name": "TW-9", "reason": "engraved anew", "length": ""})
    changed = Wrench.objects.get()
    assert (changed.pk, changed.name, changed.full_scale_nm) == (wrench.pk, "TW-9", 100)
    assert changed.tolerance == wrench.tolerance


def sent_certificate(**changes):
    sent = {
        "act": str(new_id()),
        "done_on": "2026-03-08",
        "number": "C-88",
        "laboratory": "Lab",
        "tolerance": "4",
        "points": POINTS,
    }
    return sent | changes


def test_a_certificate_is_kept_with_its_points_and_its_file(client, manager, mechanic, wrench):
    client.force_login(manager)
    act = str(new_id())

    for _again in range(2):
        file = SimpleUploadedFile("calibration 88.pdf", PDF, "text/html")
        sent = sent_certificate(act=act, file=file)
        answer = client.post(url("wrench-certificate", wrench), sent)
        assert answer.status_code == 302

    certificate = WrenchCertificate.objects.get(number="C-88")
    assert certificate.done_at.date() == date(2026, 3, 8)
    assert certificate.day_only
    points = certificate.lines.order_by("place").values_list("set_nm", "as_found", "as_left")
    assert list(points) == [
        (20, Decimal("-0.14"), Decimal("0.005")),
        (60, Decimal("-0.02"), 0),
        (100, Decimal("0.01"), Decimal("0.01")),
    ]
    client.force_login(mechanic)
    answer = client.get(url("wrench-file", wrench, certificate.pk))
    assert b"".join(answer.streaming_content) == PDF
    assert answer["Content-Type"] == "application/pdf"
    assert answer["Content-Disposition"] == 'attachment; filename="calibration 88.pdf"'
    page = shown(client, mechanic, wrench.get_absolute_url())
    assert "-14.0 %, outside" in page
    assert "<h3>C-88, 03/08/2026</h3>" in page
    assert "0 of 2,500" in page


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"points": "20 N.m | 1 %\n60 N.m | 1 %"}, "points"),
        ({"done_on": "2026-03-13"}, "done_on"),
        ({"file": SimpleUploadedFile("a.pdf", b"<script>", "application/pdf")}, "file"),
        ({"tolerance": "0"}, "tolerance"),
    ],
)
def test_a_certificate_that_cannot_be_kept_says_why(client, manager, wrench, changes, field):
    client.force_login(manager)

    answer = client.post(url("wrench-certificate", wrench), sent_certificate(**changes))

    assert list(answer.context["form"].errors) == [field]
    assert WrenchCertificate.objects.count() == 1


@pytest.mark.parametrize(
    ("read", "state", "said"),
    [
        ("52 N.m", "good", "Error +4.0 %, inside ± 4.0 %."),
        ("52.1 N.m", "doubted", "Error +4.2 %, outside ± 4.0 %: put it away"),
    ],
)
def test_a_mechanic_checks_a_wrench_with_two_figures(client, mechanic, wrench, read, state, said):
    client.force_login(mechanic)
    sent = {"act": str(new_id()), "set": "50 N.m", "read": read, "tester": ""}

    client.post(url("wrench-check", wrench), sent)
    page = client.post(url("wrench-check", wrench), sent, follow=True).content.decode()

    assert WrenchCheck.objects.count() == 1
    assert f'<span class="state state-{state}">' in page
    assert said in page


def test_a_check_above_full_scale_is_refused_and_the_tester_is_kept_in_mind(
    client, manager, mechanic, wrench
):
    a_quick_check(wrench, manager, MORNING + DAY)
    client.force_login(mechanic)
    sent = {"act": str(new_id()), "set": "101 N.m", "read": "101 N.m"}

    answer = client.post(url("wrench-check", wrench), sent)

    assert answer.context["form"].errors == {"set": ["More than the wrench’s full scale"]}
    good = {"act": str(new_id()), "set": "50 N.m", "read": "50 N.m", "tester": "Bench 2"}
    client.post(url("wrench-check", wrench), good)
    begun = client.get(url("wrench-check", wrench)).context["form"].initial
    assert begun["tester"] == "Bench 2"


@pytest.mark.parametrize("field", ["set", "read"])
def test_a_check_too_small_to_be_kept_is_refused(client, mechanic, wrench, field):
    client.force_login(mechanic)
    sent = {"act": str(new_id()), "set": "50 N.m", "read": "50 N.m", field: "0.0004 N.m"}

    answer = client.post(url("wrench-check", wrench), sent)

    said = "“0.0004 N.m” cannot be right here"
    assert answer.context["form"].errors == {field: [said]}
    assert not WrenchCheck.objects.exists()


@pytest.mark.parametrize(("read", "is_taken"), [("24.9", False), ("25", True), ("75.1", False)])
def test_a_check_more_than_half_off_is_a_slip_of_units(client, mechanic, wrench, read, is_taken):
    client.force_login(mechanic)
    sent = {"act": str(new_id()), "set": "50 N.m", "read": f"{read} N.m"}

    client.post(url("wrench-check", wrench), sent)

    assert WrenchCheck.objects.exists() == is_taken


@pytest.mark.parametrize("what", ["dropped", "abused"])
def test_a_mechanic_says_with_one_press_that_a_wrench_was_hurt(client, mechanic, wrench, what):
    page = shown(client, mechanic, wrench.get_absolute_url())
    assert f'name="what" value="{what}"' in page
    sent = {"act": str(new_id()), "what": what}

    for _again in range(2):
        page = client.post(url("wrench-hurt", wrench), sent, follow=True).content.decode()

    assert WrenchEvent.objects.get().what == what
    assert '<span class="state state-doubted">doubted</span>' in page


def test_a_press_that_withdraws_is_for_managers_alone(client, mechanic, wrench):
    client.force_login(mechanic)

    client.post(url("wrench-hurt", wrench), {"act": str(new_id()), "what": "withdrawn"})

    assert not WrenchEvent.objects.exists()


def test_a_manager_withdraws_a_wrench_and_puts_it_back(client, manager, wrench):
    client.force_login(manager)
    address = url("wrench-withdraw", wrench)

    for what in ("withdrawn", "returned"):
        form = client.get(address).context["form"]
        assert form.initial["what"] == what
        client.post(address, {"act": form.initial["act"], "what": what, "note": "handle"})

    told = WrenchEvent.objects.order_by("received_at", "pk").values_list("what", "note")
    assert list(told) == [("withdrawn", "handle"), ("returned", "handle")]


def test_a_manager_takes_a_drop_back_and_it_stays_readable(client, manager, mechanic, wrench):
    event = add_event(wrench, WrenchEvent.What.DROPPED, by=mechanic, at=MORNING + DAY)
    address = url("wrench-strike", wrench, event.pk)
    assert address not in shown(client, mechanic, wrench.get_absolute_url())
    assert address in shown(client, manager, wrench.get_absolute_url())
    sent = {"act": str(new_id()), "reason": "it was TW-2"}

    refused = client.post(address, {**sent, "reason": ""}).content.decode()
    assert "Dropped, 03/03/2026 08:00, recorded by" in refused
    assert not Strike.objects.exists()
    for _again in range(2):
        client.post(address, sent)

    assert Strike.objects.get().corrects == event.pk
    page = client.get(wrench.get_absolute_url()).content.decode()
    assert '<span class="state state-good">' in page
    assert "it was TW-2" in page
    assert address not in page


def test_an_entry_of_another_wrench_is_not_found(client, site, manager, wrench):
    other = a_good_wrench(site, manager, name="TW-2")
    its = WrenchCertificate.objects.get(wrench=other)
    client.force_login(manager)

    assert client.get(url("wrench-strike", wrench, its.pk)).status_code == 404
    assert client.get(url("wrench-file", wrench, its.pk)).status_code == 404


@pytest.mark.parametrize("count", [1, 3])
def test_a_wrenchs_page_costs_the_same_however_much_befell_it(
    client, manager, wrench, count, django_assert_num_queries
):
    for number in range(count):
        at = MORNING + timedelta(hours=1 + number)
        a_certificate(wrench, manager, at)
        a_quick_check(wrench, manager, at)
        add_event(wrench, WrenchEvent.What.DROPPED, by=manager, at=at)
    client.force_login(manager)

    with django_assert_num_queries(21):
        client.get(wrench.get_absolute_url())


def test_a_card_says_what_to_set_through_the_adapter(client, site, manager, kit):
    wrench = a_wrench(site, manager, length_mm="400", adapter_mm="100")

    page = shown(client, manager, url("wrench-card", wrench))

    # 70 N.m: x 400 / 500, 400 / (400 + 100 cos 45), 1 (TM 9-254 fig. 46); 80 is 59.0 lbf.ft
    cells = ["51.6 lbf·ft", "41.3 lbf·ft", "43.9 lbf·ft", "51.6 lbf·ft"]
    assert "".join(f'<td class="num">{cell}</td>' for cell in cells) in page
    assert '<td class="num">59.0 lbf·ft</td><td class="num">47.2 lbf·ft</td>' in page
    assert page.count("<tr>") == 1 + len({j["target_nm"] for j in kit_value()["joints"]})


def test_a_card_of_a_wrench_without_adapter_has_no_table(client, manager, wrench, kit):
    assert "<table" not in shown(client, manager, url("wrench-card", wrench))


def test_the_board_counts_wrenches_that_are_not_good(client, site, manager, wrench):
    address = reverse("board", args=[site.slug])
    line = '<dt>Wrenches not good</dt><dd><a href="/harbour/wrenches/">{}</a></dd>'
    assert line.format(0) in shown(client, manager, address)

    a_wrench(site, manager, name="TW-2")
    add_event(wrench, WrenchEvent.What.DROPPED, by=manager, at=MORNING + DAY)

    assert line.format(2) in shown(client, manager, address)


def test_a_board_without_wrenches_says_nothing_of_them(client, site, manager):
    page = shown(client, manager, reverse("board", args=[site.slug]))

    assert "Wrenches not good" not in page
