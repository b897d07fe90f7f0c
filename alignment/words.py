"""How results of a sheet read on a page. Signs always stand: minus is top in, plus is toe-in."""

from decimal import ROUND_HALF_UP, Decimal

from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

NAMES = {
    "camber left": _("camber left"),
    "camber right": _("camber right"),
    "side to side": _("camber, left less right"),
    "toe": _("toe"),
}
VERDICTS = {"inside": _("inside"), "can't tell": _("can't tell"), "outside": _("outside")}
VERDICT_STYLES = {"inside": "inside", "can't tell": "unsure", "outside": "outside"}
MM_AN_INCH = 25.4


def figure(name, value):
    """Return a result's value with its unit; toe in both units of length."""
    if name != "toe":
        return f"{value:+.2f}°"
    return f"{value:+.1f} mm ({_inches(value):+} in)"


def spread(name, expanded):
    if name != "toe":
        return f"±{expanded:.2f}°"
    return f"±{expanded:.1f} mm ({_inches(expanded)} in)"


def _inches(mm):
    # the float of a sixteenth may lie a hair to either side of its half
    exact = Decimal(str(round(mm / MM_AN_INCH, 6)))
    return exact.quantize(Decimal("0.001"), ROUND_HALF_UP)


def named(judged, names):
    """Return ``names`` of results in words, each with its figure where there is one."""
    results = judged.results
    return ", ".join(
        f"{NAMES[name]} {figure(name, results[name].value)}"
        if name in results
        else str(NAMES[name])
        for name in names
    )


def not_measured(judged):
    return gettext("not measured so that it counts: %(what)s") % {
        "what": named(judged, judged.missing)
    }


def outside(judged):
    return gettext("outside: %(what)s") % {"what": named(judged, judged.outside)}


def tagged(judged):
    """Return why the cart is kept out of use, empty when it is not."""
    if judged.is_toe_out:
        return gettext("toe-out: %(what)s") % {"what": named(judged, ["toe"])}
    if judged.leaning:
        return gettext("camber beyond 1.5 degrees: %(what)s") % {
            "what": named(judged, judged.leaning)
        }
    return ""
