"""What alignment brings to the fleet: one kind of work, its part of a round, its block."""

from pathlib import Path

from django.utils.translation import gettext_lazy as _

from alignment.blocks import sheet_leads, sheets_block
from alignment.bundle_figures import FIGURES
from alignment.bundle_readings import READINGS, TURNS
from alignment.bundle_results import ALIGNMENTS, CANNOT_TELL, CANNOT_TELL_COUNT
from alignment.bundle_sheets import SHEETS, OutsideCount
from alignment.outcomes import CAMBER_TOE, CAMBER_TURNED, LEFT_OUTSIDE, TIE_ROD_TURNED
from alignment.parts import CamberToePart
from fleet.kinds import Kind, register
from shared.menu import add_page
from shared.models import Role

EVENTS = {
    CAMBER_TURNED: _("camber was turned"),
    TIE_ROD_TURNED: _("a tie rod was turned"),
    LEFT_OUTSIDE: _("camber or toe was left outside"),
}
SPECS_PLACE = 61
RULE_FILE = Path(__file__).with_name("rules.toml")


def register_all():
    register.add_kinds(
        Kind(CAMBER_TOE, _("Camber and toe"), 30, frozenset({CAMBER_TOE}), (CAMBER_TOE,))
    )
    register.add_parts(CamberToePart())
    register.events.update(EVENTS)
    register.bundle_tables += [CANNOT_TELL, ALIGNMENTS, SHEETS, READINGS, TURNS, FIGURES]
    register.bundle_figures += [CANNOT_TELL_COUNT, OutsideCount]
    register.blocks.append(sheets_block)
    register.round_leads.append(sheet_leads)
    register.rule_files.append(str(RULE_FILE))
    readers = (Role.MANAGER, Role.MECHANIC, Role.SURVEYOR)
    add_page(SPECS_PLACE, _("Camber and toe"), "alignment-spec-list", *readers)
