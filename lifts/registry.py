"""Registers with the fleet all that this app knows of."""

from pathlib import Path

from fleet.kinds import register
from lifts.kinds import KINDS
from lifts.parts.brake import Brake
from lifts.parts.grease import Grease
from lifts.parts.joints import Joints
from lifts.parts.label import Label
from lifts.parts.speed import Speed
from lifts.parts.wheels import HubPlay, Tyres
from lifts.source import LiftSource

RULE_FILE = Path(__file__).with_name("rules.toml")


def register_all():
    register.add_kinds(*KINDS)
    register.add_parts(Joints(), Grease(), Tyres(), HubPlay(), Brake(), Label(), Speed())
    register.sources.append(LiftSource())
    register.rule_files.append(str(RULE_FILE))
