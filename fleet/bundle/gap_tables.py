"""Gaps printed as gaps: what a cart's records lack, and what is not recorded at all."""

from django.utils.translation import gettext_lazy as _

from fleet.bundle.columns import CART, Column, Table
from fleet.bundle.exception_tables import is_in_fleet
from fleet.kinds import register

OF_CART = {
    "serial": _("serial number"),
    "tyre": _("tyre size"),
    "seats": _("seats"),
    "read_at": _("any meter reading"),
}


def gap_rows(batch):
    """Yield what is not recorded of the carts in the fleet, by the fleet and by the apps."""
    found = [gap for gaps in (_own_gaps, *register.bundle_gaps) for gap in gaps(batch)]
    place = {cart.id: number for number, cart in enumerate(batch.carts)}
    words = {}
    for cart, lacks, about in sorted(found, key=lambda gap: place[gap[0].id]):
        # what is found is kept, so that no id comes twice
        text = words.get(id(lacks)) or words.setdefault(id(lacks), str(lacks))
        yield {**cart.named(), "not_recorded": text, "about": about}


def _own_gaps(batch):
    for cart in batch.carts:
        if is_in_fleet(cart):
            for name, lacks in OF_CART.items():
                if getattr(cart.row, name) in ("", None):
                    yield cart, lacks, ""
            if cart.row.unrecorded_before:
                yield cart, _("history before this day"), cart.row.unrecorded_before
            if cart.row.is_lifted and not cart.facts.rounds:
                yield cart, _("any round"), ""


GAPS = Table(
    "gaps.csv",
    _("what is not recorded of the carts in the fleet"),
    (
        *CART,
        Column("not_recorded", _("what is not recorded")),
        Column("about", _("of which entry, or before which day")),
    ),
    gap_rows,
)

NOT_KEPT = (
    (_("sight walk"), _("who looked for lifted carts that nobody listed, and when")),
    (_("the policy's schedule"), _("which carts the insurer has on its list")),
    (_("what the desk was shown"), _("when somebody asked whether a cart may go, and the answer")),
    (_("incident sheets"), _("place, driver, people aboard, injuries, custody of parts")),
    (_("battery, roof, rear seat"), _("what was added to or taken off a cart, and its mass")),
    (_("training"), _("evidence that a person is competent, and until when")),
    (_("changes of the interval by a study"), _("which rule was changed because of which share")),
)


def not_kept_rows(scope):
    for subject, lacks in NOT_KEPT:
        yield {"subject": subject, "what": lacks}


NOT_RECORDED = Table(
    "not_recorded.csv",
    _("what this tool does not record: no line of any table speaks of it"),
    (
        Column("subject", _("what it is about")),
        Column("what", _("what is not recorded of it")),
    ),
    not_kept_rows,
    per_cart=False,
    key=("subject",),
)
