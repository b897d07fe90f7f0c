"""The mark of a verdict stands on the side of the band where the value is."""

from decimal import Decimal

import pytest

from alignment.judging import judge
from alignment.sheets import sheet_of
from alignment.verdict_marks import style_of
from tests.alignment_factories import GaugeFactory, PassesFactory, ToeFactory, placed


@pytest.mark.parametrize(
    ("deg", "style"),
    [
        ("-1", "outside verdict-below"),
        ("-0.5", "unsure verdict-below"),
        ("-0.1", "inside"),
        ("0.1", "inside"),
        ("0.5", "unsure"),
        ("1", "outside"),
    ],
)
def test_style_tells_below_from_above(deg, style):
    sheet = sheet_of(
        PassesFactory.build(), placed(GaugeFactory.build(gauge_deg=Decimal(deg), pass_no=1))
    )

    assert style_of(sheet, "camber left", judge(sheet).results["camber left"]) == style


@pytest.mark.parametrize(("rear", "style"), [("35", "outside verdict-below"), ("37", "outside")])
def test_toe_out_is_below_its_band(rear, style):
    sheet = sheet_of(PassesFactory.build(), placed(ToeFactory.build(rear=rear, pass_no=1)))

    assert style_of(sheet, "toe", judge(sheet).results["toe"]) == style
