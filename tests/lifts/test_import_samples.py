"""The worked example of the README: three sheets brought in one after another."""

from datetime import timedelta
from decimal import Decimal
from pathlib import Path

import pytest

from fleet.models import Cart, Reading
from shared import clock
from tests.factories import MORNING
from tests.fleet.importing_ways import bring
from tests.lift_factories import a_kit, a_site

pytestmark = pytest.mark.django_db
SAMPLES = Path(__file__).parents[1] / "fleet" / "samples"


def test_the_three_sample_sheets_come_in_one_after_another(tmp_path, monkeypatch):
    monkeypatch.setattr(clock, "now", lambda: MORNING + timedelta(days=14))
    site, manager = a_site()
    a_kit(site, manager)

    said = {}
    for sheet in ("carts", "fittings", "readings"):
        content = (SAMPLES / f"{sheet}.csv").read_bytes()
        said[sheet] = bring(tmp_path, content, sheet=sheet).splitlines()

    assert [lines[-1] for lines in said.values()] == ["Brought in."] * 3
    assert "Not read: Bought from." in said["carts"]
    assert (
        "Line 2, cart 101: lift: trial-kit, fitted on 03/02/2024; kept as told, not seen: "
        "1 last-done days; short check by 03/23/2026, baseline by 04/30/2026" in said["fittings"]
    )
    carts = Cart.objects.values_list("number", "is_lifted", "is_unproven", "hours_shown")
    assert list(carts) == [
        ("101", True, False, Decimal("412.5")),
        ("102", True, True, Decimal(1020)),
        ("103", False, False, None),
    ]
    assert Reading.objects.count() == 5
