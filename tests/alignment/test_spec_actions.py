from datetime import timedelta
from decimal import Decimal

import pytest

from alignment.actions import Crossed, NoReason, ToeOut, save_spec
from alignment.models import AlignmentSpec
from shared.facts import OtherBody
from shared.models import Entry, new_id
from tests.factories import MORNING
from tests.lift_factories import a_site
from tests.spec_factories import ROD, SLEEVE, spec_values

pytestmark = pytest.mark.django_db
HOUR = timedelta(hours=1)


class Yard:
    def __init__(self):
        self.site, self.manager = a_site()

    def save(self, kit_code="hx-4", at=MORNING, id=None, **values):
        told = spec_values(**values)
        return save_spec(self.site, kit_code, told, by=self.manager, at=at, id=id)


@pytest.fixture
def yard():
    return Yard()


def test_what_is_told_is_kept_and_sealed(yard):
    spec = yard.save(**ROD, **SLEEVE)

    kept = AlignmentSpec.objects.get()
    assert (kept.pk, kept.kit_code, kept.arm_typed) == (spec.pk, "hx-4", "4.5 in")
    assert Entry.objects.get(fact_id=spec.pk).kind == "alignment.alignmentspec"


def test_a_second_sending_is_the_first_again(yard):
    act = new_id()

    first, again = (yard.save(id=act, at=MORNING + hours * HOUR) for hours in (0, 1))

    assert (first.pk, first.done_at) == (again.pk, again.done_at)
    assert AlignmentSpec.objects.count() == 1


def test_the_same_act_with_other_figures_is_refused(yard):
    act = new_id()
    yard.save(id=act)

    with pytest.raises(OtherBody):
        yard.save(id=act, camber_high_deg=Decimal("0.4"))


def test_a_change_asks_for_its_reason_and_keeps_what_was_told(yard):
    first = yard.save()
    with pytest.raises(NoReason):
        yard.save(at=MORNING + HOUR, note="  ")

    second = yard.save(at=MORNING + HOUR, note="Edition C came")

    assert [one.pk for one in AlignmentSpec.objects.order_by("received_at")] == [
        first.pk,
        second.pk,
    ]


def test_another_kits_first_figures_need_no_reason(yard):
    yard.save()

    assert yard.save(kit_code="trail-6").note == ""
    assert yard.save(kit_code="").note == ""


@pytest.mark.parametrize(
    "values",
    [
        {"toe_low_mm": None},
        {"toe_high_mm": None},
        {"camber_low_deg": None},
        {"toe_low_mm": 5, "toe_high_mm": 4},
        {"toe_low_mm": 5, "toe_high_mm": 5},
        {"camber_low_deg": 1, "camber_high_deg": Decimal("0.9")},
        {"toe_low_mm": None, "toe_high_mm": -1},
    ],
)
def test_limits_that_are_no_pair_are_refused(yard, values):
    with pytest.raises(Crossed):
        yard.save(**values)

    assert not AlignmentSpec.objects.exists()


def test_toe_out_is_refused(yard):
    with pytest.raises(ToeOut):
        yard.save(toe_low_mm=Decimal("-0.1"))

    assert yard.save(toe_low_mm=0).toe_low_mm == 0
