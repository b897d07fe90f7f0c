from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from fleet.forms.retelling import KEPT, StayForm
from fleet.kinds import Hold, Outcome
from lifts import pieces
from lifts.fields import PressedField, QuantityField, YesNoField, si, typed, unit_at
from lifts.models import HubLook, HubPlayCheck, TyreCheck, TyreLine
from lifts.parts.base import YES_OR_NO, LiftPart, PartForm, numbered, told, yes_or_no
from lifts.wheels import Wheel
from shared.units import with_unit

MOST_PRESSURE_KPA = 700
SIDES = ("left", "right")


class WheelsForm(PartForm):
    """A card for each of the four wheels."""

    def build(self):
        for wheel in Wheel:
            for name, field in self.fields_of(wheel).items():
                self.fields[f"{name}-{wheel.name.lower()}"] = field
                said = {"wheel": wheel.label, "what": field.label}
                field.named = gettext("%(wheel)s: %(what)s") % said
                unsaid = gettext("%(wheel)s: %(what)s: say what was found") % said
                field.error_messages["required"] = unsaid

    def fields_of(self, wheel):
        raise TypeError(f"{type(self).__name__} must say what it asks of a wheel")

    def of(self, wheel, name):
        return self.cleaned_data[f"{name}-{wheel.name.lower()}"]

    def on_paper(self):
        """Yield each question of each wheel as a line of a printed sheet."""
        for name in self.fields:
            wheel = name.rpartition("-")[2].upper()
            if wheel in Wheel.names:
                field = self.fields[name]
                labels = [label for _value, label in getattr(field, "choices", ())]
                yield f"{Wheel[wheel].label}: {field.label}", labels, ""

    def cards(self):
        for wheel in Wheel:
            ending = f"-{wheel.name.lower()}"
            fields = [self[name] for name in self.fields if name.endswith(ending)]
            yield {"wheel": wheel.label, "fields": fields}


class TyresForm(WheelsForm):
    cautions = (_("Pressures cold. A cut in the wall is not mended: the tyre is replaced."),)

    def build(self):
        super().build()
        # another part that is asked answers by these too
        for name in ("not_done", *(name for name in self.fields if name.endswith("_front"))):
            self.fields[name].widget.attrs["data-sent-too"] = True

    def fields_of(self, wheel):
        pressure = {
            "unit": unit_at(self.visit.site, "pressure"),
            "most_si": MOST_PRESSURE_KPA,
            "required": False,
        }
        return {
            # a flat tyre is a true finding
            "found": QuantityField(
                "pressure", label=_("Pressure found"), may_be_nought=True, **pressure
            ),
            "set": QuantityField("pressure", label=_("Set to"), **pressure),
            "tread": YesNoField(yes=_("good"), no=_("worn"), label=_("Tread")),
            "wall": YesNoField(yes=_("good"), no=_("cut or bulged"), label=_("Wall")),
        }


class Tyres(LiftPart):
    code = "tyres"
    title = _("Tyres")
    place = 30
    model = TyreCheck
    line_model = TyreLine
    form_class = TyresForm
    template = "lifts/part_wheels.html"
    cautions = TyresForm.cautions
    pieces = frozenset({pieces.TYRES})
    grades = YES_OR_NO

    def read(self, form):
        return {}, numbered([_tyre(form, wheel) for wheel in Wheel])

    def front_pressures(self, visit, data):
        """As they were left: as set, else as found; none of a part that stays as it was."""
        form = self.form(visit, data)
        form.is_valid()
        if form.is_left_out or StayForm(data, prefix=f"stay-{self.code}").said == KEPT:
            return {}
        said, fronts = form.cleaned_data, {side: f"{side}_front" for side in SIDES}
        left = {
            side: said.get(f"set-{at}") or said.get(f"found-{at}") for side, at in fronts.items()
        }
        return {side: measure for side, measure in left.items() if measure}

    def outcome(self, fact, lines):
        cut = [
            _at(gettext("%(wheel)s tyre: wall cut or bulged"), x) for x in lines if not x.wall_ok
        ]
        worn = [_at(gettext("%(wheel)s tyre: tread worn"), x) for x in lines if not x.tread_ok]
        holds = tuple(Hold(pieces.TYRES, reason) for reason in cut + worn)
        return Outcome(self.pieces if not holds else frozenset(), holds, tag="; ".join(cut))

    def verdicts(self, fact, lines):
        treads = {f"{line.wheel} tread good": yes_or_no(line.tread_ok) for line in lines}
        return treads | {f"{line.wheel} wall good": yes_or_no(line.wall_ok) for line in lines}

    def said(self, fact, lines):
        for line in lines:
            wrong = told(tread_worn=not line.tread_ok, wall_cut=not line.wall_ok)
            detail = told(
                found=with_unit(line.found_typed, "pressure", line.found_kpa),
                set_to=with_unit(line.set_typed, "pressure", line.set_kpa),
            )
            yield (f"{line.wheel} tyre", wrong or "good", detail)


def _tyre(form, wheel):
    found, pressed = form.of(wheel, "found"), form.of(wheel, "set")
    return TyreLine(
        wheel=wheel,
        found_typed=typed(found),
        found_kpa=si(found),
        set_typed=typed(pressed),
        set_kpa=si(pressed),
        tread_ok=form.of(wheel, "tread"),
        wall_ok=form.of(wheel, "wall"),
    )


def _at(said, line):
    return said % {"wheel": Wheel(line.wheel).label}


class HubPlayForm(WheelsForm):
    cautions = (
        _("Nobody under a cart on a jack alone: stands beneath the chassis, rocked first."),
    )

    def fields_of(self, wheel):
        label = _("Rocked at 12 and 6, at 3 and 9, and spun")
        return {"found": PressedField(choices=HubLook.Found.choices, label=label)}


class HubPlay(LiftPart):
    code = "hub-play"
    title = _("Hub play")
    place = 40
    model = HubPlayCheck
    line_model = HubLook
    form_class = HubPlayForm
    template = "lifts/part_wheels.html"
    cautions = HubPlayForm.cautions
    pieces = frozenset({pieces.HUB_PLAY})
    grades = {
        HubLook.Found.NONE.value: 0,
        HubLook.Found.NOT_REACHED.value: 1,
        HubLook.Found.PLAY.value: 2,
    }

    def read(self, form):
        looks = [HubLook(wheel=wheel, found=form.of(wheel, "found")) for wheel in Wheel]
        return {}, numbered(looks)

    def outcome(self, fact, lines):
        play = [_at(gettext("%(wheel)s hub: play"), x) for x in lines if x.found == "play"]
        missed = [
            _at(gettext("%(wheel)s hub: not reached"), x) for x in lines if x.found == "not reached"
        ]
        holds = tuple(Hold(pieces.HUB_PLAY, reason) for reason in play + missed)
        done = self.pieces if lines and not holds else frozenset()
        return Outcome(done, holds, tag="; ".join(play), is_critical=bool(play))

    def verdicts(self, fact, lines):
        return {f"{line.wheel} hub": line.found for line in lines}

    def said(self, fact, lines):
        for line in lines:
            yield (f"{line.wheel} hub", line.found, "")
