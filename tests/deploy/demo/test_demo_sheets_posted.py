"""Sheets of the demo typed into the app's own form once more: it takes them, and says the same."""

from collections import Counter
from types import SimpleNamespace

import pytest
from django.forms.models import model_to_dict
from django.http import QueryDict

from alignment.conditions import LEVEL, PLATES, TICKS
from alignment.forms import CamberToeForm
from alignment.models import CamberReading, CamberToeSheet, ToeReading
from alignment.parts import CamberToePart
from deploy.demo import wheel_stories
from fleet.kinds import Cut
from tests.deploy.demo.told import cart

PRESSURES = ("pressure_set", "pressure_left", "pressure_right")
AS_TOLD = ("floor_low_side", "camber_adjusts", "pull", "note")
TICKED = ("after_kerb_hit", "wheel_centred", "driven", "confirmed")
OF_THE_FACT = {"id", "site", "cart", "round", "by", "done_at", "written_at"}


def posted(fact, lines):
    """Return the form's fields as they were typed."""
    data = {
        "ready": [name for name in TICKS if getattr(fact, name)],
        "floor": LEVEL if fact.floor_level else PLATES,
        "passes": fact.passes,
        "p1_step": "found",
        "gauge_mark": f"{fact.gauge_mark_deg:.1f}",
        "mark": fact.mark_typed,
        "diameter": fact.diameter_typed,
        "more_asked": 1 if fact.asked_for_more else "",
        "enough": "on",
        **{f"floor_{name}": getattr(fact, f"floor_{name}_typed") for name in ("fall", "over")},
        **{name: getattr(fact, f"{name}_typed") for name in PRESSURES},
        **{
            name: getattr(fact, name)
            for name in ("floor_low_side", "camber_adjusts", "pull", "note")
        },
        **{name: "on" for name in TICKED if getattr(fact, name)},
        "jam_nuts": {True: "tight", False: "not-yet", None: ""}[fact.jam_nuts],
    }
    seen = Counter()
    for line in lines:
        data |= _line(line, seen)
    if fact.drive_pass:
        data[f"p{fact.drive_pass}_step"] = "drive"
    query = QueryDict(mutable=True)
    for name, value in data.items():
        query.setlist(f"camber-toe-{name}", value if isinstance(value, list) else [value])
    return query


def _line(line, seen):
    pass_name = f"p{line.pass_no}"
    if isinstance(line, CamberReading):
        wheel = f"{pass_name}_{line.side}"
        seen[wheel] += 1
        if line.gauge_deg is not None:
            return {f"{wheel}_gauge_{seen[wheel]}": line.gauge_typed}
        return {
            "between": line.between_typed,
            f"{wheel}_top_{seen[wheel]}": line.gap_top_typed,
            f"{wheel}_bottom_{seen[wheel]}": line.gap_bottom_typed,
            f"{wheel}_half_{seen[wheel]}": "on" if line.half_turn else "",
        }
    if isinstance(line, ToeReading):
        seen[pass_name] += 1
        k = seen[pass_name]
        return {
            f"{pass_name}_front_{k}": line.front_typed,
            f"{pass_name}_rear_{k}": line.rear_typed,
        }
    turn = f"{pass_name}_{line.at}"
    way = "longer" if line.longer_flats > 0 else "shorter"
    flats = f"{abs(line.longer_flats).normalize():f}"
    return {f"{pass_name}_step": line.what, f"{turn}_turn": flats, f"{turn}_way": way}


def values_of(row, but=frozenset()):
    return {name: value for name, value in model_to_dict(row).items() if name not in but}


def turned_sheets():
    """Return sheets with the most passes of the demo, and each single cart's last one."""
    most = CamberToeSheet.objects.order_by("-passes", "done_at")[:6]
    stories = (
        wheel_stories.BENT_RIM,
        wheel_stories.SLOPING,
        wheel_stories.ODD,
        wheel_stories.KERB_HIT,
        *wheel_stories.CANNOT_TELL,
    )
    rows = [CamberToeSheet.objects.filter(cart=cart(one)).latest("done_at") for one in stories]
    odd = CamberToeSheet.objects.get(confirmed=True)
    metric = CamberToeSheet.objects.filter(cart__site__units="metric").order_by("-passes")[:2]
    return [*most, *rows, odd, *metric]


@pytest.mark.parametrize("n", range(16))
def test_the_apps_own_form_takes_a_sheet_and_amounts_to_the_same(n):
    fact = turned_sheets()[n]
    lines = CamberToePart().lines_of([fact.pk])[fact.pk]
    row, at = fact.cart, fact.round.opened_at
    visit = SimpleNamespace(
        cart=row,
        site=row.site,
        at=at,
        cut=Cut(at, at),
        corrects=None,
        pieces=frozenset({"camber-toe"}),
    )
    files = {"camber-toe-odd_photo": object()} if fact.confirmed else {}

    form = CamberToeForm(visit, posted(fact, lines), files, prefix="camber-toe")
    form.fields["odd_photo"].clean = lambda file, initial=None: file

    assert form.is_valid(), form.errors
    again, wanted = values_of(CamberToeSheet(**form.sheet_fields())), values_of(fact, OF_THE_FACT)
    assert {name: again[name] for name in wanted} == wanted
    assert [values_of(one, {"fact", "id"}) for one in form.foretold_lines()] == [
        values_of(one, {"fact", "id"}) for one in lines
    ]
