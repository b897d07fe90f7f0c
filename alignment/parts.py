"""The camber and toe sheet as a part of a round."""

from collections import defaultdict
from uuid import uuid5

from django.utils.translation import gettext_lazy as _

from alignment.bundle import rows_of
from alignment.buttons import answered
from alignment.forms import CamberToeForm
from alignment.models import CamberReading, CamberToeSheet, ToeReading, Turn
from alignment.moving import carry_anew
from alignment.outcomes import CAMBER_TOE, outcome_of
from alignment.sheets import judged
from alignment.uncertainty import CANT_TELL, INSIDE, OUTSIDE
from fleet.kinds import Part

LINES = (CamberReading, ToeReading, Turn)


class CamberToePart(Part):
    code = CAMBER_TOE
    title = _("Camber and toe")
    place = 50
    model = CamberToeSheet
    form_class = CamberToeForm
    template = "alignment/part_camber_toe.html"
    pieces = frozenset({CAMBER_TOE})
    asks = True
    own_page = True
    grades = {INSIDE: 0, CANT_TELL: 1, OUTSIDE: 2}
    cautions = (
        _("Hard level floor; chock the wheels that stay down."),
        _("Nobody under a cart on a jack alone: stands beneath the chassis, rocked first."),
        _("Fingers clear of turnbuckles: pinch points."),
        _(
            "Test drive: clear area, low speed, belts, brake test before speed, one person, "
            "no passengers; stop if it pulls, knocks or shakes."
        ),
    )

    def answer(self, visit, data, files, what):
        """Return the sheet as typed with what it says, or with a pass more or less."""

        def make(said, asked):
            return self.form_class(visit, said, files, prefix=self.code, asked=asked)

        return answered(make, data, self.code, what)

    def facts(self, round_fact, form, fact_fields):
        """Return the sheet with its readings; none for a part that was left out."""
        if form.is_left_out:
            return []
        sheet_id = uuid5(round_fact.pk, self.code)
        fields = {**fact_fields, **form.sheet_fields()}
        sheet = CamberToeSheet(id=sheet_id, round=round_fact, **fields)
        return [(sheet, form.foretold_lines())]

    def moved(self, old, fact, lines, cart, at):
        """Hold it against the other cart's limits; one of before passes were asked stays."""
        if fact.passes is not None:
            carry_anew(fact, lines, cart, at)

    def outcome(self, fact, lines):
        return outcome_of(fact, lines)

    def verdicts(self, fact, lines):
        return {name: result.verdict for name, result in judged(fact, lines).results.items()}

    def lines_of(self, fact_ids):
        lines = defaultdict(list)
        for model in LINES:
            for line in model.objects.filter(fact__in=fact_ids).order_by("fact", "place"):
                lines[line.fact_id].append(line)
        return {key: sorted(found, key=lambda line: line.place) for key, found in lines.items()}

    def rows(self, facts):
        facts = list(facts)
        lines = self.lines_of([fact.pk for fact in facts])
        for fact in facts:
            yield from rows_of(fact, lines.get(fact.pk, []), self.code)
