"""A visit as the round page gives it to the forms of the parts."""

from types import SimpleNamespace

from fleet.kinds import Cut
from fleet.visits import Visit
from lifts.pieces import EVERYTHING


class AVisit(SimpleNamespace):
    once = Visit.once


def a_visit(cart, at, pieces=EVERYTHING, stage="settling", corrects=None, by=None):
    return AVisit(
        cart=cart,
        site=cart.site,
        pieces=frozenset(pieces),
        stage=stage,
        viewer=None,
        by_id=by and by.pk,
        at=at,
        known_by=at,
        opening=Cut(at, at),
        corrects=corrects,
        answers={},
    )


def answers(form, prefix, **by_name):
    """Return what a browser sends when every joint is firm, but for those named.

    Every wrench of the rack is carried, and hubs have sealed bearings.

    ``by_name`` maps "the joint's name" with underscores to {field: value}.
    """
    sent = {f"{prefix}-wrenches": list(form.rack.standings)}
    for joint in form.joints:
        about = {"found": "firm", **({"pin": "undisturbed"} if joint.has_pin else {})}
        about |= {"bearing": "sealed"} if joint.family == "hub-nuts" else {}
        about |= by_name.get(joint.name.replace(" ", "_").replace("-", "_"), {})
        sent |= {f"{prefix}-{field}-{joint.pk}": value for field, value in about.items()}
    return sent
