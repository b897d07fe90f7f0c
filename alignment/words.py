"""How results of a sheet read on a page. Signs always stand: minus is top in, plus is toe-in."""

from decimal import ROUND_HALF_UP, Decimal

from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from alignment import contradictions, order
from alignment.counting import CAMBERS

NAMES = {
    "camber left": _("camber left"),
    "camber right": _("camber right"),
    "side to side": _("camber, left less right"),
    "toe": _("toe"),
}
VERDICTS = {"inside": _("inside"), "can't tell": _("can't tell"), "outside": _("outside")}
VERDICT_STYLES = {"inside": "inside", "can't tell": "unsure", "outside": "outside"}
SIDES = {"left": _("left"), "right": _("right")}
MM_AN_INCH = 25.4
FEW_FREEDOM = 10
NOT_READY = {
    "pressures_equal": _("tyre pressures not equal, cold: set both alike, then measure again"),
    "tyres_alike": _("tyres not alike: fit two alike, then measure again"),
    "rolled_forward": _("not rolled forward 10 ft: roll it, then measure again"),
    "steering_centred": _("not straight ahead, steering wheel held: centre it, then measure again"),
    "usual_load": _("without the usual load on the seat: load it, then measure again"),
    "no_play": _("play in the steering not ruled out: put it right first, then measure again"),
    "lugs_first": _("lugs not checked first: check them, then measure again"),
    "floor_level": _("floor not measured: see how level it is, then measure again"),
}
MINUS_KEY = _("minus = top in")
JAM_NUTS_LOOSE = _("jam nuts not tightened after turning")
PRESSURES_NOT_READ = _("tyre pressures not recorded: read both, cold, then measure again")
WHEEL_OFF_CENTRE = _("steering wheel not centred after a tie rod was turned: centre it, read again")


def figure(name, value):
    """Return a result's value with its unit; toe in both units of length."""
    if name != "toe":
        return f"{value:+.2f}°"
    return f"{value:+.1f} mm ({inches(value):+} in)"


def spread(name, expanded):
    if name != "toe":
        return f"±{expanded:.2f}°"
    return f"±{expanded:.1f} mm ({inches(expanded)} in)"


def inches(mm):
    """Return inches to three places."""
    return half_up(mm / MM_AN_INCH, "0.001")


def half_up(figure, places):
    # the float of a sixteenth may lie a hair to either side of its half
    return Decimal(str(round(figure, 6))).quantize(Decimal(places), ROUND_HALF_UP)


def named(judged, names, figure=figure):
    """Return ``names`` of results in words, each with its ``figure`` where there is one."""
    results = judged.results
    return ", ".join(
        f"{NAMES[name]} {figure(name, results[name].value)}"
        if name in results
        else str(NAMES[name])
        for name in names
    )


def listed(names):
    """Return the names of values in words, one after the other."""
    return ", ".join(str(NAMES[name]) for name in names)


def not_measured(judged, figure=figure):
    return gettext("not measured so that it counts: %(what)s") % {
        "what": named(judged, judged.missing, figure)
    }


def outside(judged):
    return gettext("outside: %(what)s") % {"what": named(judged, judged.outside)}


def with_key(said, judged):
    """Return a reason with the key to its sign, where it shows camber below nought."""
    leans_in = any(
        name in judged.results and judged.results[name].value < 0 and named(judged, [name]) in said
        for name in CAMBERS
    )
    return f"{said} ({MINUS_KEY})" if leans_in else said


def look_for_part(names):
    """Return what to look for where camber is outside and cannot be turned."""
    said = gettext("Not adjustable, and outside: %(names)s. Look for a bent or worn part.")
    return said % {"names": listed(names)}


def tagged(judged, *, after_kerb_hit=False, is_adjustable=True):
    """Return why the cart is kept out of use, empty when it is not."""
    if after_kerb_hit and judged.outside:
        return gettext("outside after a kerb hit, look for a bent part: %(what)s") % {
            "what": named(judged, judged.outside)
        }
    if judged.is_toe_out:
        return gettext("toe-out: %(what)s") % {"what": named(judged, ["toe"])}
    if judged.leaning:
        return _leaning(named(judged, judged.leaning), is_adjustable=is_adjustable)
    return ""


def _leaning(what, *, is_adjustable):
    if is_adjustable:
        return gettext("camber beyond 1.5 degrees: %(what)s") % {"what": what}
    said = gettext(
        "camber beyond 1.5 degrees, not adjustable, look for a bent or worn part: %(what)s"
    )
    return said % {"what": what}


SLIP_WORDS = {
    order.TOE_BEFORE_CAMBER: _("Camber first: read the %(side)s wheel’s camber before toe."),
    order.TWO_STEPS: _("One step a pass: turn one thing or drive, then read again."),
    order.NOT_ADJUSTABLE: _(
        "Camber was said not to be adjustable: then no sleeve is turned. "
        "Say otherwise under “Before measuring”."
    ),
    order.CAMBER_AGAIN: _(
        "The %(side)s sleeve was turned in pass %(n)s: read this wheel’s camber again."
    ),
    order.TOE_AFTER_SLEEVE: _(
        "A camber sleeve was turned in pass %(n)s, so toe read before is void: read toe again."
    ),
    order.ROD_WITHOUT_CAMBER: _(
        "Camber first, then toe: the %(side)s wheel has no camber reading that counts. "
        "Read it before the tie rods are turned."
    ),
    order.ROD_BEFORE_CAMBER: _(
        "Camber first, then toe: camber is outside. Turn the camber sleeve before the tie rods, "
        "or say under “Before measuring” that camber is not adjustable."
    ),
    order.TOE_AFTER_ROD: _("The tie rods were turned in pass %(n)s: read toe again after it."),
    order.CAMBER_AFTER_DRIVE: _("Driven in pass %(n)s: read the %(side)s wheel’s camber again."),
    order.TOE_AFTER_DRIVE: _("Driven in pass %(n)s: read toe again."),
    order.NOTHING_DONE: _("Pass %(n)s holds nothing: read again, or take this step back."),
}


def slip(one):
    """Return what to do about one thing out of order."""
    return str(SLIP_WORDS[one.code]) % {"n": one.pass_no, "side": SIDES.get(one.side, "")}


def probability(result):
    """Return how likely the value is inside its limits; never said to be sure."""
    percent = round(100 * result.probability)
    if percent > 99:
        return gettext("over 99 % likely inside")
    if percent < 1:
        return gettext("under 1 % likely inside")
    return gettext("%(percent)s %% likely inside") % {"percent": percent}


def freedom(result):
    """Return the degrees of freedom in words where they are few, else nothing."""
    if result.freedom >= FEW_FREEDOM:
        return ""
    # cut to the next lower whole number: JCGM 100:2008 G.4.1
    said = {"count": int(result.freedom)}
    return gettext("effective degrees of freedom %(count)s, from the readings’ own scatter") % said


CONTRADICTIONS = {
    contradictions.SCATTER: _(
        "the readings scatter more than the mark explains: %(figures)s. Read again."
    ),
    contradictions.BENT_RIM: _(
        "%(first)s as it stood and %(second)s after half a turn of the wheel. "
        "The rim is bent; the mean of both counts."
    ),
    contradictions.TWO_TOOLS: _(
        "%(first)s by the square and %(second)s by the gauge. One of them is off."
    ),
    contradictions.FLOOR: _(
        "left plus right is %(first)s before and %(second)s after the floor was allowed for, "
        "and ought to stay. Read both wheels in one way."
    ),
    contradictions.WRONG_WAY: _(
        "the turn should have changed it by %(first)s, and it changed by %(second)s: the other "
        "way. Look at which way it was turned, and at the sign."
    ),
    contradictions.DID_NOT_MOVE: _(
        "the turn should have changed it by %(first)s, and it hardly moved (%(second)s). "
        "Look for a jam nut still tight or a stripped thread."
    ),
}


def contradiction(one, figure=figure):
    """Return what does not fit together in words, with the name and the pass of the value."""
    figures = [figure(one.name, value) for value in one.figures]
    said = {"figures": ", ".join(figures), "first": figures[0], "second": figures[1]}
    about = gettext("%(name)s, pass %(n)s") % {"name": NAMES[one.name], "n": one.pass_no}
    return f"{about}: {CONTRADICTIONS[one.kind] % said}"


def begun(text):
    """Return words as the beginning of a sentence."""
    return f"{text[:1].upper()}{text[1:]}"
