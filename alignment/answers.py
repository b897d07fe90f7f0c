"""What a sheet says so far: its values, what does not fit, and what to do now."""

from functools import cached_property

from alignment import words
from alignment.advised import said_of
from alignment.buttons import ADJUSTS
from alignment.contradictions import contradictions, gains_by
from alignment.counting import SIDE_TO_SIDE
from alignment.flats_said import typed_flats
from alignment.judging import judge, judge_pass
from alignment.models import CamberAdjusts
from alignment.next_step import CENTRE_WHEEL, DRIVE, SAY_ADJUSTS, TURN_ROD, TURN_SLEEVE, next_step
from alignment.pictures import Drawable, pictures_of
from alignment.reading_fields import ROD
from alignment.readings import SLEEVE
from alignment.site_words import wording_of
from alignment.values_said import values_of

BUTTONS = {TURN_SLEEVE: SLEEVE, TURN_ROD: ROD, CENTRE_WHEEL: ROD, DRIVE: "drive"}


class Answer:
    """Made of a sheet that holds readings; ``known`` is what is known of its cart.

    ``holds`` are what would keep the work open; ``said`` is what else next_step is told:
    stands, is_hit, is_odd.
    """

    def __init__(self, sheet, known, *, camber_adjusts, enough, lines=(), holds=(), **said):
        self.sheet, self.known = sheet, known
        self.wording = wording_of(sheet, known.site)
        self.judged, self.camber_adjusts, self.lines = judge(sheet), camber_adjusts, lines
        self.holds = [one.reason for one in holds]
        self.next = next_step(
            sheet,
            self.judged,
            steering=known.figures.steering,
            camber_adjusts=camber_adjusts,
            learnt=known.learnt,
            enough=enough,
            **said,
        )

    def values(self):
        return values_of(self.sheet, self.judged, self.wording)

    def missing(self):
        return words.not_measured(self.judged, self.wording.figure) if self.judged.missing else ""

    def contradictions(self):
        gains = gains_by(self.known.figures.steering, self.sheet.diameter_mm)
        found = contradictions(self.sheet, gains=gains)
        return [words.begun(words.contradiction(one, self.wording.change)) for one in found]

    @cached_property
    def step(self):
        """What to do now, in words and drawn."""
        return said_of(self.next, self.sheet, self.known.figures, self.wording, self.holds)

    def adjusts(self):
        """Return (button, words) of each way to adjust camber, where that is what is asked."""
        asks = self.next.kind == SAY_ADJUSTS
        return [(f"{ADJUSTS}{how}", said) for how, said in CamberAdjusts.choices if asks]

    @property
    def button(self):
        """The step that is advised, as its button names it; empty where none is."""
        return BUTTONS.get(self.next.kind, "")

    def advised_turns(self, step):
        """Return {at: (flats, way)} as typed, where this is the step that is advised."""
        if self.button != step:
            return {}
        return {at: typed_flats(flats) for at, flats in self.next.flats.items() if flats}

    def pictures(self):
        """Return the axle as it stands by this sheet, from the front and from above."""
        known = (self.known.figures.steering, self.camber_adjusts, self.wording)
        return pictures_of(Drawable(self.sheet, self.judged, self.lines, *known))

    def said_of_passes(self):
        """Return {number: what was read in it, in words}."""
        passes = {one.pass_no for one in (*self.sheet.cambers, *self.sheet.toes)}
        return {n: self._read(judge_pass(self.sheet, n)) for n in passes}

    def _read(self, judged):
        names = [name for name in judged.results if name != SIDE_TO_SIDE]
        return words.named(judged, names, self.wording.alone)
