"""Kinds of work and the parts of a round that do them: each names what there is."""

from fleet.kinds import register
from lifts.kinds import KINDS


def test_every_part_that_a_kind_names_is_registered_by_an_app():
    named = {code for kind in KINDS for code in kind.parts}

    assert named - {"camber-toe"} <= set(register.parts)


def test_every_piece_of_work_of_a_kind_is_done_by_one_of_its_parts():
    for kind in KINDS:
        done = set().union(
            *(getattr(register.parts.get(code), "pieces", set()) for code in kind.parts)
        )
        asked = {piece for piece in kind.content if ":" not in piece} - {"camber-toe"}
        assert asked <= done, kind.code
