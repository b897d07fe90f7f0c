"""Tyre pressures told with the tyres of the same round, for a sheet without its own."""

from django.utils.translation import gettext

from alignment.conditions import PRESSURE_KPA, PRESSURES
from alignment.fields import as_read
from fleet.kinds import register


def told_with_the_tyres(form):
    """Return {field: Measure} of the front tyres; nothing where the sheet has figures itself."""
    if any(form.data.get(form.add_prefix(name)) for name in PRESSURES):
        return {}
    told = {}
    for part in register.parts.values():
        told |= part.front_pressures(form.visit, form.data)
    lowest, highest = PRESSURE_KPA
    return {
        f"pressure_{side}": measure
        for side, measure in told.items()
        if lowest <= measure.si <= highest
    }


def taken_said(told):
    """Yield in words what was taken over."""
    words = {
        "pressure_left": gettext("Taken from the tyres of this round: left %s."),
        "pressure_right": gettext("Taken from the tyres of this round: right %s."),
    }
    return [words[name] % as_read(measure) for name, measure in told.items()]
