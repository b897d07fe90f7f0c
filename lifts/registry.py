"""Registers with the fleet all that this app knows of."""

from pathlib import Path

from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from fleet.kinds import register
from lifts import (
    board,
    chapters,
    later_doubts,
    sister_page,
    told_kits,
    told_wrenches,
    wrench_doubts,
)
from lifts.bundle import CHAPTERS, LENGTHS, WHEELS_OFF
from lifts.bundle_classes import CLAIMS, CLASSES
from lifts.bundle_doubts import DOUBTS, DoubtCount
from lifts.bundle_gaps import gaps
from lifts.bundle_joints import FOUND_LOOSE, JOINT_ROUNDS, LooseCount
from lifts.bundle_kits import KIT_JOINTS, KITS
from lifts.bundle_labels import LABEL_COVERAGE, LABELS, CoverageCount
from lifts.bundle_looks import LOOKS
from lifts.bundle_rounds import DRIVES, GREASE
from lifts.bundle_runs import BRAKES, SPEEDS, SpeedCount
from lifts.bundle_seen import DECISIONS, SEEN
from lifts.bundle_stability import COMPARED, MEASURES, STEPS
from lifts.bundle_wrenches import (
    BEFELL,
    CERTIFICATES,
    CHECKS,
    POINTS,
    WRENCHES,
    WrenchCount,
)
from lifts.cart_joints import block as joints_block
from lifts.cart_joints import leads as joint_leads
from lifts.events import EVENTS
from lifts.importing import FittingImporter
from lifts.kinds import KINDS
from lifts.parts import ALL_PARTS
from lifts.piece_words import PIECES
from lifts.source import LiftSource
from lifts.told_joints import differences as joint_differences
from lifts.tyre_effects import block as tyres_block
from lifts.visit_kit import kit_names
from shared.menu import add_page
from shared.models import Role

RULE_FILE = Path(__file__).with_name("rules.toml")
KITS_PLACE = 60
WRENCHES_PLACE = 62
LABELS_PLACE = 64
TABLES = [
    CHAPTERS,
    LENGTHS,
    WHEELS_OFF,
    JOINT_ROUNDS,
    LOOKS,
    FOUND_LOOSE,
    SEEN,
    DECISIONS,
    WRENCHES,
    CERTIFICATES,
    POINTS,
    CHECKS,
    BEFELL,
    DOUBTS,
    GREASE,
    BRAKES,
    DRIVES,
    SPEEDS,
    CLASSES,
    CLAIMS,
    MEASURES,
    STEPS,
    COMPARED,
    LABELS,
    LABEL_COVERAGE,
    KITS,
    KIT_JOINTS,
]
FIGURES = [CoverageCount, LooseCount, WrenchCount, DoubtCount, SpeedCount]


def register_all():
    register.add_kinds(*KINDS)
    register.events.update(EVENTS)
    register.pieces.update(PIECES)
    register.add_parts(*ALL_PARTS)
    register.sources.append(LiftSource())
    register.rule_files.append(str(RULE_FILE))
    # the chapters last: they are long
    register.blocks += [tyres_block, joints_block, chapters.block]
    register.after_round.append(joint_leads)
    register.add_importers(FittingImporter())
    register.bundle_tables += TABLES
    register.bundle_figures += FIGURES
    register.bundle_gaps.append(gaps)
    register.told_rows += [told_kits.differences, told_wrenches.differences]
    register.told_rows.append(joint_differences)
    register.doubts.append(wrench_doubts.doubts)
    register.round_notes.append(later_doubts.round_notes)
    register.cart_leads.append(sister_page.leads)
    register.lift_urls.append(_fitting_url)
    register.kit_names.append(kit_names)
    register.board_lines += [board.wrenches_not_good, board.labels_in_force]
    register.board_lines += [board.over_their_class, board.joints_to_decide]
    readers = (Role.MANAGER, Role.MECHANIC, Role.SURVEYOR)
    add_page(KITS_PLACE, _("Kits"), "kit-list", *readers)
    add_page(WRENCHES_PLACE, _("Wrenches"), "wrench-list", *readers)
    add_page(LABELS_PLACE, _("Labels"), "label-list", Role.MANAGER, Role.SURVEYOR)


def _fitting_url(cart):
    return reverse("fitting-create", args=[cart.site.slug, cart.pk])
