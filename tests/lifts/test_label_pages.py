"""How the labels of a site stand, on the board and in their list; the card to print."""

from datetime import timedelta

import pytest
from django.urls import reverse

from lifts.actions import fit
from lifts.board import labels_in_force
from lifts.label_coverage import standings
from lifts.models import LabelCheck
from shared import clock
from shared.facts import record
from shared.models import Photo, Role
from shared.viewer import Viewer
from tests.factories import MORNING
from tests.lift_factories import a_cart, a_kit, a_site, with_role
from tests.round_factories import a_round, told

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)
SHOTS = (Photo.Shows.LABEL_SEAT, Photo.Shows.LABEL_CLOSE)


@pytest.fixture
def carts(site, kit, manager):
    """Three lifted carts and a plain one."""
    carts = [a_cart(site, manager, number) for number in ("7", "8", "9")]
    for cart in carts:
        fit(cart, kit, by=manager, at=MORNING)
    a_cart(site, manager, "11")
    return carts


def looked(cart, by, monkeypatch, shots=SHOTS, day=1, **values):
    """Save a look at the label with its photos."""
    at = MORNING + day * DAY
    part = told("label", cart, **values)
    monkeypatch.setattr("tests.round_factories.told", lambda *_args, **_more: part)
    a_round(cart, by=by, at=at, parts=("label",))
    check = LabelCheck.objects.filter(cart=cart).latest("done_at")
    for shows in shots:
        sums = dict.fromkeys(("original_sha256", "copy_sha256"), f"{cart.number}{shows:x>63}")
        about = {"site": cart.site, "cart_id": cart.pk, "about": check.pk, "by": by}
        record(Photo(shows=shows, width=4, height=3, **sums, **about), at=at)


def words(site, viewer):
    return {one.number: one.word for one in standings(site, viewer)}


def test_each_lifted_cart_stands_by_its_last_look(carts, site, manager, monkeypatch):
    looked(carts[0], manager, monkeypatch, condition="worn")
    looked(carts[1], manager, monkeypatch, shots=SHOTS[:1])

    assert words(site, Viewer(manager, MORNING + 2 * DAY)) == {
        "7": "recorded",
        "8": "photos missing",
        "9": "not recorded",
    }
    looked(carts[0], manager, monkeypatch, day=3, condition="gone", in_place=False)
    later = words(site, Viewer(manager, MORNING + 4 * DAY))
    assert later["7"] == "wanting"


def test_a_look_lasts_91_days(carts, site, manager, monkeypatch):
    looked(carts[0], manager, monkeypatch)

    assert words(site, Viewer(manager, MORNING + 92 * DAY))["7"] == "recorded"
    assert words(site, Viewer(manager, MORNING + 93 * DAY))["7"] == "looked at too long ago"


def test_the_board_counts_the_labels_seen_in_force(carts, site, manager, monkeypatch):
    looked(carts[0], manager, monkeypatch)
    looked(carts[1], manager, monkeypatch, shots=())

    [line] = labels_in_force(site, Viewer(manager, MORNING + 2 * DAY))

    assert (line.title, line.figure) == ("Labels seen in force, 1 with photos", "2/3")
    assert line.url == reverse("label-list", args=[site.slug])


def test_a_site_without_a_lift_has_no_line(site, manager):
    a_cart(site, manager)

    assert list(labels_in_force(site, Viewer(manager, MORNING))) == []


@pytest.mark.parametrize("count", [1, 3])
def test_standings_cost_the_same_however_many(site, kit, manager, count, django_assert_num_queries):
    for number in range(count):
        fit(a_cart(site, manager, str(number)), kit, by=manager, at=MORNING)
    viewer = Viewer(manager, MORNING)
    assert site.pk in viewer.site_ids

    with django_assert_num_queries(3):
        assert len(standings(site, viewer)) == count


def test_other_sites_are_left_out(carts, site, manager):
    elsewhere, other = a_site("quay")
    fit(a_cart(elsewhere, other, "70"), a_kit(elsewhere, other), by=other, at=MORNING)

    assert "70" not in words(site, Viewer(manager, MORNING + DAY))


@pytest.fixture
def at_two_days(monkeypatch):
    monkeypatch.setattr(clock, "now", lambda: MORNING + 2 * DAY)


def test_the_list_shows_one_standing_and_is_a_file_too(
    client, carts, site, manager, monkeypatch, at_two_days
):
    looked(carts[0], manager, monkeypatch, condition="worn")
    client.force_login(manager)
    url = reverse("label-list", args=[site.slug])

    shown = client.get(url, {"standing": "not recorded"})
    file = b"".join(client.get(url, {"file": "csv"}).streaming_content).decode()

    assert [row.record.number for row in shown.context["table"].rows] == ["8", "9"]
    assert "worn, readable" in client.get(url).text
    assert file.splitlines()[1].startswith('7,recorded,"worn, readable",2026-03-03T13:00:00+00:00,')


def test_the_board_leads_to_the_list(client, carts, site, manager, at_two_days):
    client.force_login(manager)

    page = client.get(reverse("board", args=[site.slug])).text

    assert reverse("label-list", args=[site.slug]) + '">0/3<' in page


def test_the_card_frames_a_place_and_says_the_kits_words(client, site, manager, at_two_days):
    kit = a_kit(site, manager, code="worded", label_text="WARNING: lifted.")
    client.force_login(with_role(site, manager, Role.MECHANIC))
    url = reverse("label-card", args=[site.slug, kit.pk])

    framed = client.get(url, {"place": "steering column"}).text
    plain = client.get(url, {"place": "nowhere"}).text

    assert ("here</text>" in framed, "here</text>" in plain) == (True, False)
    assert "<strong>D: steering column</strong>" in framed
    assert "WARNING: lifted." in framed
    # 12 pt at 3 ft, a capital 0.70 of it
    assert "2.96 mm" in framed
