"""The stability page: what it asks, what it shows, and what it says of itself."""

import re
from datetime import timedelta
from decimal import Decimal

import pytest
from django.urls import reverse

from fleet.actions import register
from lifts.models import AxleLift, StabilityMeasure
from lifts.stability_drawing import Panel, rear_view
from lifts.tipping import Weighed, stance_of
from shared import clock
from shared.models import Role, new_id
from tests.factories import MORNING
from tests.lift_factories import with_role
from tests.stability_factories import a_measure

pytestmark = pytest.mark.django_db
NOW = MORNING + timedelta(days=30)
TOLD = {"mass": "1000 lb", "track": "35 in", "cg": "21 in", "is_lifted": "no"}
RAISED = {
    "mass": "1000 lb",
    "track": "35 in",
    "is_lifted": "no",
    "wheelbase": "66 in",
    "hub_height": "8.5 in",
    "raised_1": "14 in",
    "gained_1": "30 lb",
}


@pytest.fixture(autouse=True)
def _now(monkeypatch):
    monkeypatch.setattr(clock, "now", lambda: NOW)


@pytest.fixture
def send(client, site, manager, cart):
    client.force_login(manager)

    def post(typed, name="stability-create", *more):
        sent = {"act": str(new_id()), "done_on": "2026-04-01", **typed}
        return client.post(reverse(name, args=[site.slug, cart.pk, *more]), sent)

    return post


def page(client, site, cart):
    return client.get(reverse("stability-detail", args=[site.slug, cart.pk]))


def rows(response):
    return [(row.state, row.load, row.cg, row.ssf, row.tip) for row in response.context["rows"]]


def test_a_told_height_is_recorded_as_typed(client, site, cart, send):
    send(TOLD | {"people": "400 lb", "seated": "37 in", "note": "New battery"})

    measure = StabilityMeasure.objects.get()
    assert (measure.cg_typed, measure.cg_mm, measure.note) == (
        "21 in",
        Decimal("533.4"),
        "New battery",
    )
    assert rows(page(client, site, cart)) == [
        ("now", "empty", "21.0 in", "0.833", "39.8°"),
        ("now", "people seated", "25.6 in", "0.684", "34.4°"),
    ]


def test_the_steps_of_an_axle_lift_are_lines(client, site, cart, send):
    send(RAISED | {"raised_3": "20 in", "gained_3": "45 lb"})

    steps = AxleLift.objects.order_by("place").values_list("raised_typed", "gained_typed")
    assert list(steps) == [("14 in", "30 lb"), ("20 in", "45 lb")]
    said = page(client, site, cart).content.decode()
    assert "ISO 10392 asks for three or more, up and down." in said


@pytest.mark.parametrize(
    ("typed", "field", "said"),
    [
        (TOLD | {"cg": ""}, "__all__", "Either the height was told"),
        (RAISED | {"cg": "21 in"}, "__all__", "Either the height was told"),
        (RAISED | {"gained_1": ""}, "gained_1", "The two go together."),
        (RAISED | {"wheelbase": ""}, "wheelbase", "An axle lift needs this too."),
        (RAISED | {"hub_height": ""}, "hub_height", "An axle lift needs this too."),
        (RAISED | {"raised_1": "70 in"}, "__all__", "raised_mm must be below wheelbase_mm"),
        (TOLD | {"people": "400 lb"}, "seated", "The two go together."),
        (TOLD | {"is_lifted": ""}, "is_lifted", "required"),
    ],
)
def test_what_cannot_be_computed_is_refused(send, typed, field, said):
    errors = send(typed).context["form"].errors

    assert list(errors) == [field]
    assert said in errors[field][0]
    assert not StabilityMeasure.objects.exists()


def test_a_measure_is_told_again_with_a_reason(client, site, cart, manager, send):
    first = a_measure(cart, manager)
    url = reverse("stability-correct", args=[site.slug, cart.pk, first.pk])
    form = client.get(url).context["form"]
    typed = {name: form[name].value() or "" for name in form.fields}

    send(typed | {"cg": "24 in", "reason": "Read the wrong sheet"}, "stability-correct", first.pk)

    [standing] = StabilityMeasure.objects.standing(NOW)
    assert (standing.corrects, standing.cg_typed, standing.people_typed) == (
        first.pk,
        "24 in",
        "400 lb",
    )
    assert (standing.why_corrected, standing.done_at) == ("Read the wrong sheet", first.done_at)
    assert "Told again because" in page(client, site, cart).content.decode()


def test_a_measure_told_again_needs_a_reason(cart, manager, send):
    first = a_measure(cart, manager)

    response = send(TOLD, "stability-correct", first.pk)

    assert list(response.context["form"].errors) == ["reason"]


def test_a_measure_is_taken_back_from_its_page(client, site, cart, manager, send):
    first = a_measure(cart, manager)
    said = page(client, site, cart).content.decode()
    strike = reverse("entry-strike", args=[site.slug, cart.pk, first.pk])

    client.post(strike, {"reason": "Another cart"})

    assert strike in said
    assert "Not recorded: weigh and measure." in page(client, site, cart).content.decode()


def test_the_page_says_what_it_is_not(client, site, cart, manager, send):
    empty = page(client, site, cart).content.decode()
    a_measure(cart, manager)

    for said in (empty, page(client, site, cart).content.decode()):
        assert "First-order, for comparison only, never a limit." in said
        assert "It is no advice for a cart" in said


def test_before_and_now_are_drawn_and_told(client, site, cart, manager, send):
    register.change_tyres(cart, "18 in", "457.2", by=manager, at=MORNING)
    a_measure(cart, manager, at=MORNING + timedelta(hours=1))
    register.change_tyres(cart, "22 in", "558.8", by=manager, at=MORNING + timedelta(days=1))

    said = page(client, site, cart)

    assert [row[:2] for row in rows(said)] == [
        ("on the earlier tyres", "empty"),
        ("on the earlier tyres", "people seated"),
        ("now", "empty"),
        ("now", "people seated"),
    ]
    drawing = said.content.decode()
    assert 'role="img"' in drawing
    assert "now, people seated: 27.6 in, 32.4°" in drawing
    assert "style=" not in drawing


@pytest.mark.parametrize("role", [Role.MECHANIC, Role.SURVEYOR])
def test_who_may_weigh_is_led_there(client, site, manager, cart, role):
    a_measure(cart, manager)
    client.force_login(with_role(site, manager, role))

    said = page(client, site, cart).content.decode()

    assert ("stability/new/" in said, "/correct/" in said) == ((role == Role.MECHANIC,) * 2)
    assert "Take it back" not in said


def test_the_drawing_is_to_scale():
    stance = stance_of(Weighed(450, 900, 600))
    [svg] = [rear_view([Panel("now", stance, 500, "empty: 600 mm")], title="t", told="d")]

    wheels = re.findall(r'<rect x="([\d.]+)" y="([\d.]+)" width="([\d.]+)" height="([\d.]+)"', svg)
    left, right = [tuple(map(float, box)) for box in wheels[:2]]
    [middle] = re.findall(r'<circle cx="([\d.]+)" cy="([\d.]+)"', svg)
    px_per_mm = left[3] / 500
    assert (right[0] - left[0]) / px_per_mm == pytest.approx(900, abs=2)
    ground = left[1] + left[3]
    assert (ground - float(middle[1])) / px_per_mm == pytest.approx(600, abs=2)
    assert float(middle[0]) == pytest.approx(100)


def test_a_drawing_without_a_panel_is_refused():
    with pytest.raises(ValueError, match="panels must hold one at least"):
        rear_view([], title="t", told="d")
