"""What the buttons of the sheet ask: what it says, a further pass, or one pass less."""

from alignment.models import CamberAdjusts
from alignment.reading_fields import DRIVE, MOST_PASSES, ROD, SLEEVE, passes_in

LOOK, BACK, ADDED = "look", "back", "added"
ADJUSTS = "adjusts-"  # and how, as CamberAdjusts has it
FURTHER = (SLEEVE, ROD, DRIVE)


def answered(make, data, prefix, what):
    """Return the form that answers; ``make(data, asked)`` makes one of what was typed."""
    if what == BACK:
        return make(_one_pass_less(data, prefix), LOOK)
    _before, is_said, how = what.partition(ADJUSTS)
    if is_said and how in CamberAdjusts.values:
        return make(_adjusted(data, prefix, how), LOOK)
    if what not in FURTHER:
        return make(data, LOOK)
    form = make(data, what)
    if not form.is_valid() or form.cleaned_data["not_done"] or form.pass_count == MOST_PASSES:
        return form
    return make(_one_pass_more(form, data, prefix, what), ADDED)


def _adjusted(data, prefix, how):
    said = data.copy()
    said[f"{prefix}-camber_adjusts"] = how
    return said


def _one_pass_less(data, prefix):
    """Return what was typed without the last pass; the first one stays."""
    passes = passes_in(data, prefix)
    if passes < 2:
        return data
    kept = data.copy()
    for name in [name for name in data if name.startswith(f"{prefix}-p{passes}_")]:
        del kept[name]
    kept[f"{prefix}-passes"] = str(passes - 1)
    return kept


def _one_pass_more(form, data, prefix, step):
    """Return what was typed with a pass after it, its turns as they were advised."""
    n = form.pass_count + 1
    more = data.copy()
    more[f"{prefix}-passes"] = str(n)
    more[f"{prefix}-p{n}_step"] = step
    for at, (flats, way) in form.advised_turns(step).items():
        more[f"{prefix}-p{n}_{at}_turn"] = flats
        more[f"{prefix}-p{n}_{at}_way"] = way
    return more
