"""Random lives of two wrenches: what is listed is what a plain recount of each look lists."""

from datetime import timedelta
from decimal import Decimal

import numpy
import pytest
from django.db import transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from fleet.models import Round
from lifts.actions.wrenches import certificate_points
from lifts.found_out import findings_of, looks_found_out, looks_found_out_at
from lifts.models import JointPart, WrenchCertificate, WrenchCheck, WrenchEvent
from shared.facts import record_all
from tests.factories import MORNING
from tests.found_out_factories import a_look
from tests.lift_factories import a_cart
from tests.lifts.test_found_out import cut
from tests.wrench_factories import SETS_NM, a_wrench

pytestmark = pytest.mark.django_db
TOLERANCE = Decimal("0.04")
LAST_HOUR = 40
# (target, low, high) in N.m
BANDS = [(30, None, None), (40, 34, 46), (55, None, 60), (90, 89, None), (35, 36, 40)]
error = st.integers(-20, 20).map(lambda percent: Decimal(percent) / 100)
three = st.tuples(error, error, error)
befell = st.one_of(
    st.tuples(st.just("certificate"), three, three),
    st.tuples(st.just("check"), st.integers(-9, 9)),
    st.tuples(st.just("drop")),
)
lives = st.dictionaries(st.integers(0, LAST_HOUR), befell, max_size=6)
looks = st.lists(
    st.tuples(
        st.integers(0, LAST_HOUR),
        st.integers(0, 1),
        st.integers(0, len(BANDS) - 1),
        st.sampled_from(["firm", "took up", "not reached"]),
    ),
    max_size=12,
)


def at(hour):
    return MORNING + timedelta(hours=hour)


@pytest.fixture
def rack(site, manager):
    return [a_wrench(site, manager, name=name) for name in ("TW-1", "TW-2")]


@pytest.fixture
def joints(kit):
    rows = list(kit.joints.order_by("place"))[: len(BANDS)]
    for row, (target, low, high) in zip(rows, BANDS, strict=True):
        about = {"target_nm": target, "low_nm": low, "high_nm": high}
        kit.joints.filter(pk=row.pk).update(**about)
    return [kit.joints.get(pk=row.pk) for row in rows]


def fact_of(wrench, by, hour, told):
    """Return the fact of one thing that befell a wrench, with its lines."""
    about = {"site": wrench.site, "wrench": wrench, "by": by, "done_at": at(hour)}
    match told:
        case "certificate", found, left:
            errors = zip(SETS_NM, found, left, strict=True)
            points = certificate_points([(f"{nm}", Decimal(nm), *two) for nm, *two in errors])
            return WrenchCertificate(number="C", tolerance=TOLERANCE, **about), points
        case "check", percent:
            read = Decimal(50) * (100 + percent) / 100
            return WrenchCheck(set_nm=50, read_nm=read, tolerance=TOLERANCE, **about), []
        case _:
            return WrenchEvent(what="dropped", **about), []


def is_off(errors):
    return any(abs(one) > TOLERANCE for one in errors)


def last_good(life, hour):
    """Return the hour of the last check or certificate that found the wrench good, or None."""
    good, is_doubted = None, False
    for then in sorted(one for one in life if one < hour):
        match life[then]:
            case "certificate", _found, left:
                is_doubted = is_off(left)
                good = good if is_doubted else then
            case "check", percent if abs(percent) <= 4:
                good = good if is_doubted else then
            case _:
                is_doubted = True
    return good


def errors_at(life, hour, torque):
    """Return the error at a torque as found at an hour, None while nobody knows it."""
    match life[hour]:
        case "check", percent:
            return percent / 100
        case "certificate", found, _left:
            return numpy.interp(torque, SETS_NM, [float(one) for one in found])
    later = [one for one in sorted(life) if one > hour and life[one][0] == "certificate"]
    return errors_at(life, later[0], torque) if later else None


def is_finding(told):
    match told:
        case "certificate", found, _left:
            return is_off(found)
        case "check", percent:
            return abs(percent) > 4
    return True


def is_broken(band, share):
    target, low, high = band
    if (low or target) > target or (high or target) < target:
        low = high = None
    low, high = low or target * 0.9, high or target * 1.1
    got = target * (1 + share)
    return got < low - 1e-6 or got > high + 1e-6


def last_in_doubt(life, hour):
    """Return the hour that ends what is in doubt: all is told at the very end."""
    if life[hour][0] == "certificate":
        return hour
    later = [one for one in life if one > hour and life[one][0] == "certificate"]
    return min([LAST_HOUR + 1, *(one for one in later if not is_off(life[one][2]))])


def recount(life, seen, place):
    """Return (hour of the finding, number of the look) of all that is listed for a wrench."""
    for hour in [one for one in life if is_finding(life[one])]:
        since, until = last_good(life, hour), last_in_doubt(life, hour)
        for number, (then, which, joint, found) in enumerate(seen):
            is_in = then <= until and (since is None or then > since)
            if which == place and is_in and found != "not reached":
                share = errors_at(life, hour, BANDS[joint][0])
                if share is None or is_broken(BANDS[joint], share):
                    yield hour, number


# each example is undone, so the site and the rack are the same for all
@settings(max_examples=40, suppress_health_check=list(HealthCheck))
@given(first=lives, second=lives, seen=looks)
def test_what_is_listed_is_what_a_recount_lists(site, manager, rack, joints, first, second, seen):
    with transaction.atomic():
        cart = a_cart(site, manager, number="1")
        facts = [
            fact_of(wrench, manager, hour, told)
            for wrench, life in zip(rack, (first, second), strict=True)
            for hour, told in life.items()
        ]
        parts = []
        for hour, which, joint, found in seen:
            about = {"site": site, "cart": cart, "by": manager, "done_at": at(hour)}
            visit = Round(opened_at=at(hour), **about)
            parts.append(JointPart(round=visit, stage="recurring", **about))
            look = a_look(joints[joint], rack[which], found, pin="")
            facts += [(visit, []), (parts[-1], [look])]
        record_all(facts, at=at(LAST_HOUR + 1))
        numbers = {part.pk: number for number, part in enumerate(parts)}

        def told(found):
            hour = (found.finding.fact.done_at - MORNING) / timedelta(hours=1)
            return hour, numbers[found.look.fact_id]

        everything = []
        for place, (wrench, life) in enumerate(zip(rack, (first, second), strict=True)):
            listed = [
                told(one)
                for finding in findings_of(wrench, NOW)
                for one in looks_found_out(finding, NOW)
                if one.is_listed
            ]
            assert sorted(listed) == sorted(recount(life, seen, place))
            everything += listed
        of_cart = [told(one) for one in looks_found_out_at([cart.pk], NOW) if one.is_listed]
        assert sorted(of_cart) == sorted(everything)
        transaction.set_rollback(True)


NOW = cut()
