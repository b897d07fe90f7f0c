"""A sheet drawn with its words: the front axle from the front and from above. No writes."""

from dataclasses import dataclass

from django.utils.safestring import mark_safe
from django.utils.translation import gettext

from alignment import front_drawing, top_drawing, words
from alignment.advice import Steering
from alignment.counting import TOE
from alignment.geometry import toe_total_deg
from alignment.judging import Judged
from alignment.models import CamberAdjusts, ToeReading
from alignment.readings import Sheet
from alignment.signs import signed_deg
from alignment.site_words import Wording

ENLARGED = 10


@dataclass(frozen=True)
class Drawable:
    """What is drawn: a sheet, what counts of it, its lines, and how the cart is adjusted."""

    sheet: Sheet
    judged: Judged
    lines: list
    steering: Steering
    camber_adjusts: str
    wording: Wording

    def value(self, name: str) -> float | None:
        result = self.judged.results.get(name)
        return None if result is None else result.value


def pictures_of(drawn: Drawable) -> list[str]:
    """Return the axle from the front and from above, each to scale and then enlarged."""
    # made by this server alone, its words escaped
    return [mark_safe(draw(drawn, times)) for draw in (front, top) for times in (1, ENLARGED)]


def drawn_times(times: int) -> str:
    if times == 1:
        return gettext("To scale, the angles as measured")
    return gettext("Angles drawn %(times)s times as large") % {"times": times}


def _from_the_front(times):
    return f"{gettext('Seen from the front.')} {drawn_times(times)}."


def _from_above(times):
    return f"{gettext('Seen from above.')} {drawn_times(times)}."


def front(drawn: Drawable, times: int) -> str:
    """Return the axle as seen from the front, each wheel leaning by its camber."""
    sheet = drawn.sheet
    left, right = (drawn.value(name) for name in ("camber left", "camber right"))
    has_sleeve = drawn.camber_adjusts != CamberAdjusts.NOT
    notes = [gettext("Tyre width and track are assumed.")]
    if sheet.floor:
        notes.append(gettext("The floor slopes; the wheels stand level on plates."))
    said = front_drawing.Words(
        title=gettext("The front axle seen from the front"),
        told=_told(drawn, ("camber left", "camber right")),
        left=gettext("left"),
        right=gettext("right"),
        not_measured=gettext("not measured"),
        drawn=_from_the_front,
        sleeve=gettext("camber sleeve") if has_sleeve else "",
        rod=gettext("tie rod"),
        notes=notes if times == 1 else (),
    )
    return front_drawing.front_view(
        left,
        right,
        words=said,
        tyre_mm=sheet.diameter_mm,
        times=times,
        has_sleeve=has_sleeve,
        is_across=bool(drawn.steering.rod and drawn.steering.rod.is_across),
        floor=sheet.floor,
        key=f"front-{times}",
    )


def top(drawn: Drawable, times: int) -> str:
    """Return the axle as seen from above, the wheels turned by half of the toe each."""
    toe_mm, rod = drawn.value(TOE), drawn.steering.rod
    front_tape, rear_tape = _tapes(drawn)
    said = top_drawing.Words(
        title=gettext("The front axle seen from above, its front up"),
        told=_told(drawn, (TOE,)),
        left=gettext("left"),
        right=gettext("right"),
        front=gettext("front"),
        not_measured=gettext("toe not measured"),
        drawn=_from_above,
        front_tape=front_tape,
        rear_tape=rear_tape,
        toe=_toe(drawn, toe_mm),
        rod=gettext("tie rod"),
    )
    return top_drawing.top_view(
        toe_mm,
        words=said,
        tyre_mm=drawn.sheet.diameter_mm,
        times=times,
        is_ahead=rod.is_ahead if rod else None,
        is_across=bool(rod and rod.is_across),
        arm_mm=rod.arm_mm if rod else None,
        key=f"top-{times}",
    )


def _told(drawn, names):
    return words.named(
        drawn.judged,
        [name for name in names if name in drawn.judged.results],
        drawn.wording.figure,
    )


def _tapes(drawn):
    """Return front and rear as read, where toe is of one reading and not a mean."""
    toe = drawn.judged.results.get(TOE)
    if toe is None or toe.count > 1:
        return "", ""
    last = [line for line in drawn.lines if isinstance(line, ToeReading)][-1]
    return last.front_typed, last.rear_typed


def _toe(drawn, toe_mm):
    if toe_mm is None:
        return ""
    length, sheet = drawn.wording.alone(TOE, toe_mm), drawn.sheet
    if not sheet.diameter_mm:
        return length
    return f"{length}, {signed_deg(toe_total_deg(toe_mm, sheet.diameter_mm))}"
