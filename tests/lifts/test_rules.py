"""The rules that this app ships, against the kinds and events that it knows."""

import pytest

from fleet.kinds import register
from fleet.rule_files import read_rules
from lifts.kinds import KINDS
from lifts.registry import RULE_FILE

OF_THE_FLEET = {"woken", "tyre-size", "started-up", "not-reached"}
WITH_SUBJECT = {"wheel-off", "lug-took-up", "lock-again", "not-reached", "grease-blocked"}
RULES = read_rules(RULE_FILE.read_text(encoding="utf-8"), source="test")


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.code)
def test_a_rule_is_for_a_registered_kind_and_starts_by_known_events(rule):
    plain = {start for start in rule.starts if ":" not in start}

    assert rule.kind in register.kinds
    assert plain <= set(register.events) | OF_THE_FLEET
    assert {start.split(":")[1] for start in rule.starts if ":" in start} <= set(register.kinds)


def test_a_kind_for_one_joint_or_wheel_starts_only_by_events_that_name_it():
    of_subject = {
        kind.code for kind in KINDS if any("{subject}" in piece for piece in kind.content)
    }

    starts = {start for rule in RULES if rule.kind in of_subject for start in rule.starts}

    assert starts == WITH_SUBJECT


def test_every_kind_of_this_app_is_called_for_by_a_rule():
    assert {kind.code for kind in KINDS} - {rule.kind for rule in RULES} == set()
