"""What a sheet carries of its cart, copied anew once its round is moved to another one."""

from types import SimpleNamespace

from alignment.foretold import foretell
from alignment.known import Known
from alignment.models import Turn
from alignment.sheet_values import known_values
from alignment.sheets import sheet_of
from fleet.kinds import Cut

FORETOLD = ("formula_deg", "formula_mm", "predicted_deg", "predicted_mm")


def carry_anew(fact, lines, cart, at):
    """Give an unsaved sheet the limits, the use and the foretold turns of the cart it is of.

    What was measured and said stays; a kerb hit told of the other cart is added.
    """
    cut = Cut.known_now(fact.done_at)
    known = Known(SimpleNamespace(cart=cart, site=cart.site, cut=cut, corrects=None))
    for name, value in known_values(known).items():
        setattr(fact, name, value)
    fact.after_kerb_hit = bool(fact.after_kerb_hit or known.kerb_hit)
    for line in lines:
        if isinstance(line, Turn):
            vars(line).update(dict.fromkeys(FORETOLD))
    foretell(lines, sheet_of(fact, lines), known.figures.steering, known.learnt)
