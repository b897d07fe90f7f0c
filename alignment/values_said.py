"""Each value of a sheet for its page: the figure, how sure it is, the verdict, its band."""

from dataclasses import dataclass
from functools import partial

from django.utils.safestring import mark_safe
from django.utils.translation import gettext

from alignment import band_drawing, words
from alignment.asking import limits_of
from alignment.counting import TOE
from alignment.geometry import toe_total_deg
from alignment.more_readings import settling
from alignment.signs import signed_deg
from alignment.uncertainty import CANT_TELL
from alignment.verdict_marks import style_of


@dataclass(frozen=True)
class Value:
    name: str
    figure: str
    verdict: str
    style: str
    lines: list
    band: str


def values_of(sheet, judged, wording):
    return [_value(sheet, judged, name, one, wording) for name, one in judged.results.items()]


def _value(sheet, judged, name, result, wording):
    return Value(
        name=words.begun(str(words.NAMES[name])),
        figure=f"{wording.figure(name, result.value)} {wording.spread(name, result.expanded)}",
        verdict=words.VERDICTS[result.verdict],
        style=style_of(sheet, name, result),
        lines=list(_lines(sheet, judged, name, result, wording)),
        # made by this server alone, its words escaped
        band=mark_safe(_band(sheet, name, result, wording)),
    )


def _lines(sheet, judged, name, result, wording):
    if name == TOE and sheet.diameter_mm:
        yield in_all(result.value, sheet.diameter_mm, wording)
    yield words.begun(words.probability(result))
    if few := words.freedom(result):
        yield words.begun(few)
    if result.verdict == CANT_TELL:
        yield settling(sheet, judged, name)


def in_all(toe_mm, diameter_mm, wording):
    """Return a toe as the angle between both wheels, at the diameter where it was read."""
    angle = signed_deg(toe_total_deg(toe_mm, diameter_mm))
    said = {"angle": angle, "diameter": wording.diameter(diameter_mm)}
    return gettext("%(angle)s between both wheels, at %(diameter)s.") % said


def _band(sheet, name, result, wording):
    low, high = limits_of(sheet, name)
    figure, scale = wording.alone(name, result.value), partial(wording.scale, name)
    title = gettext("%(name)s: the band") % {"name": words.NAMES[name]}
    told = gettext("%(figure)s %(spread)s between %(low)s and %(high)s: %(verdict)s.") % {
        "figure": figure,
        "spread": wording.spread(name, result.expanded),
        "low": scale(low),
        "high": scale(high),
        "verdict": words.VERDICTS[result.verdict],
    }
    return band_drawing.band(
        result.value,
        expanded=result.expanded,
        low=low,
        high=high,
        value_words=figure,
        figure=scale,
        words=_band_words(title, told),
        key=f"band-{name.replace(' ', '-')}",
    )


def _band_words(title, told):
    return band_drawing.Words(
        title=title,
        told=told,
        inside=gettext("inside"),
        cannot_tell=gettext("can’t tell"),
        outside=gettext("outside"),
        not_measured=gettext("not measured"),
        beyond=gettext("farther off than the scale goes"),
    )
