"""The shipped speed classes against the law and the standards that they are taken from.

49 CFR 571.3(b) by a guide to the rule and 71 FR 20026; the two ANSI standards by their
association's public summary, not read themselves; Fla. Stat. 320.01(22). Each prints two units
as if equal: a value between them must be left to a person.
"""

from dataclasses import replace
from decimal import Decimal

import pytest

from lifts.speed import BOUNDARY, OVER, UNDER, predicted_verdict
from lifts.speed_classes import classify, default_classes, limits_of

D = Decimal
KMH_PER_MPH, KG_PER_LB = D("1.609344"), D("0.45359237")  # NIST SP 811 (2008) App. B.8

BY_CODE = {row.code: row for row in default_classes()}
GOLF_CAR, PTV = BY_CODE["golf-car"], BY_CODE["personal-transport-vehicle"]
LSV, FLORIDA = BY_CODE["low-speed-vehicle"], BY_CODE["golf-cart-florida"]


def fit(mph, *classes, pounds="2400", wheels=4, persons=4, kg=None, payload=None):
    return classify(
        D(mph) * KMH_PER_MPH,
        gross_kg=D(kg) if kg else D(pounds) * KG_PER_LB,
        wheels=wheels,
        persons=persons,
        classes=classes or default_classes(),
        payload_kg=payload and D(payload) * KG_PER_LB,
    )


@pytest.mark.parametrize(
    ("mph", "said"),
    [
        ("19.88", None),
        ("19.89", "boundary"),  # over 32 km/h, not over 20 mph
        ("20", "boundary"),
        ("20.001", "low-speed-vehicle"),
        ("20.5", "low-speed-vehicle"),
        ("24.85", "low-speed-vehicle"),
        ("24.86", "boundary"),  # over 40 km/h, not over 25 mph
        ("25", "boundary"),
        ("25.001", None),
        ("25.3", None),
    ],
)
def test_a_low_speed_vehicle_by_its_speed(mph, said):
    """49 CFR 571.3(b): more than 32 km/h (20 mph), not more than 40 km/h (25 mph)."""
    assert fit(mph, LSV) == said


@pytest.mark.parametrize(
    ("mass", "said"),
    [
        ({"pounds": "2999"}, "low-speed-vehicle"),
        ({"pounds": "3000"}, "boundary"),  # 1,360.78 kg
        ({"kg": "1360.777"}, "low-speed-vehicle"),
        ({"kg": "1360.78"}, "boundary"),
        ({"kg": "1360.99"}, "boundary"),
        ({"kg": "1361"}, None),
        ({"pounds": "3001"}, None),
    ],
)
def test_a_low_speed_vehicle_by_its_gross_rating(mass, said):
    """49 CFR 571.3(b): less than 1,361 kg (3,000 lb)."""
    assert fit("20.5", LSV, **mass) == said


@pytest.mark.parametrize("wheels", [3, 6])
def test_a_low_speed_vehicle_has_four_wheels(wheels):
    assert fit("20.5", LSV, wheels=wheels) is None


def test_an_earlier_rule_is_a_row_of_its_own():
    """70 FR 48313 (2005-08-17): less than 1,134 kg (2,500 lb) from 2005-10-03 to 2006-06-05."""
    then = replace(LSV, most_gross_kg=D(1134), most_gross_lb=D(2500), edition="70 FR 48313")

    assert fit("22", then, pounds="2700") is None
    assert fit("22", LSV, pounds="2700") == "low-speed-vehicle"


@pytest.mark.parametrize(
    ("kmh", "said"), [("40", UNDER), ("40.1", BOUNDARY), ("40.2336", BOUNDARY), ("40.24", OVER)]
)
def test_the_most_that_571_500_lets_a_low_speed_vehicle_attain(kmh, said):
    """49 CFR 571.500 S5(a), by a mirror: not more than 40 km/h (25 mph)."""
    assert predicted_verdict(D(kmh), limits_of(LSV)) == said


@pytest.mark.parametrize(
    ("mph", "said"),
    [("14.9", "golf-car"), ("14.92", "boundary"), ("14.999", "boundary"), ("15", None)],
)
def test_a_golf_car_stays_below_fifteen_miles_an_hour(mph, said):
    """ANSI/OPEI Z130.1: average speed less than 15 mph (24 km/h)."""
    assert fit(mph, GOLF_CAR) == said


@pytest.mark.parametrize(
    ("vehicle", "said"),
    [
        ({}, "personal-transport-vehicle"),
        ({"persons": 5}, None),
        ({"wheels": 3}, None),
        ({"wheels": 6}, "personal-transport-vehicle"),
        ({"pounds": "2500"}, "personal-transport-vehicle"),
        ({"pounds": "2502"}, "boundary"),  # 1,134.9 kg
        ({"pounds": "2503"}, None),
        ({"payload": "1200"}, "personal-transport-vehicle"),
        ({"payload": "1202"}, None),
    ],
)
def test_a_personal_transport_vehicle(vehicle, said):
    """ANSI Z135: four wheels or more, 545 kg (1,200 lb), 1,135 kg (2,500 lb), four persons."""
    assert fit("19", PTV, **vehicle) == said


@pytest.mark.parametrize(("mph", "said"), [("19.88", True), ("19.9", False), ("20", False)])
def test_a_personal_transport_vehicle_stays_below_twenty(mph, said):
    """ANSI Z135: below 20 mph (32 km/h)."""
    assert (fit(mph, PTV) == "personal-transport-vehicle") is said


@pytest.mark.parametrize(("mph", "said"), [("20", "golf-cart-florida"), ("20.001", None)])
def test_a_golf_cart_in_florida_is_not_capable_of_exceeding_twenty(mph, said):
    """Fla. Stat. 320.01(22); a letter of NHTSA of 1985-04-16 says "20 mph or less" too."""
    assert fit(mph, FLORIDA) == said


@pytest.mark.parametrize(
    ("mph", "said"),
    [
        ("14.9", "golf-car"),
        ("19", "personal-transport-vehicle"),
        ("19.9", "boundary"),
        ("20", "boundary"),  # 63 FR 33194 puts it on both sides
        ("20.5", "low-speed-vehicle"),
        ("25", "boundary"),
        ("25.3", None),
    ],
)
def test_the_whole_table_at_four_persons_and_2400_pounds(mph, said):
    assert fit(mph) == said


@pytest.mark.parametrize("mph", ["15.2", "18.9", "19.5"])
def test_a_cart_for_six_is_a_golf_cart_by_the_state_alone(mph):
    assert fit(mph, persons=6) == "golf-cart-florida"


def test_the_readings_part_where_arithmetic_says():
    """32 km/h is 19.8839 mph, 40 km/h 24.8548 mph, 3,000 lb 1,360.777 kg: NIST SP 811."""
    metric_kmh, inch_kmh = LSV.readings("over")
    assert round(metric_kmh / KMH_PER_MPH, 4) == D("19.8839")
    assert inch_kmh == D("32.18688")
    metric_kmh, inch_kmh = LSV.readings("limit")
    assert round(metric_kmh / KMH_PER_MPH, 4) == D("24.8548")
    assert inch_kmh == D("40.2336")
    metric_kg, inch_kg = LSV.readings("most_gross")
    assert round(metric_kg / KG_PER_LB, 3) == D("3000.491")
    assert round(inch_kg, 3) == D("1360.777")
