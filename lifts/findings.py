"""What the looks at joints amount to: what closes, what does not and why, what is tagged.

From the looks and what was copied into them alone. Common practice, no source; the
maker's instructions come first.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _

from fleet.kinds import Hold, Outcome, Start
from lifts import pieces

FIRM, TOOK_UP, SLACK, GONE, NOT_REACHED = "firm", "took up", "slack", "gone", "not reached"
RECURRING = "recurring"
LOCKED_ANEW = {"relocked", "new nut", "new bolt"}
RENEWED = {"new nut", "new bolt"}
LOOSE = {SLACK, GONE}
# families whose loose joint takes the cart out of use, put right or not
ALWAYS_TAGGED = {pieces.LUGS, pieces.U_BOLTS, pieces.HUB_NUTS, pieces.STEERING}

U_BOLT_TOOK_UP, U_BOLT_SLACK = "u-bolt-took-up", "u-bolt-slack"
LUG_TOOK_UP, LOCK_AGAIN = "lug-took-up", "lock-again"
STEERING_LOOSE = "steering-loose"


# looks in a row that found a U-bolt loose: then it is renewed, then the cart stays tagged
LOOSE_TO_RENEW, LOOSE_TO_STAY_TAGGED = 2, 3

UNKNOWN = {
    "target": lambda: _("%(joint)s: no target: kit sheet needed"),
    "bearing": lambda: _("%(joint)s: hub bearing type unknown, so no figure to tighten to"),
}
DOUBTS = {
    "unnamed": lambda: _("%(joint)s: no wrench named"),
    "due": lambda: _("%(joint)s: done with a wrench that is out of date"),
    "doubted": lambda: _("%(joint)s: done with a wrench in doubt"),
    "withdrawn": lambda: _("%(joint)s: done with a wrench withdrawn from use"),
}


@dataclass(frozen=True)
class Finding:
    """One thing that a look says: ``reason`` in words, and what follows from it."""

    reason: str = ""
    holds: bool = False
    tags: bool = False
    is_critical: bool = False
    start: Start | None = None


def outcome_of_looks(offered: Sequence[str], stage: str, looks: Sequence) -> Outcome:
    """Return what the looks of one round amount to.

    ``offered`` are the pieces of work begun; ``stage`` is "settling" or "recurring".
    A piece is done when at least one of its joints was looked at and none is held.
    """
    findings = [(look, finding) for look in looks for finding in findings_of(look, stage)]
    tags = [finding for _look, finding in findings if finding.tags]
    return Outcome(
        pieces=_done(offered, looks, {look.name for look, finding in findings if finding.holds}),
        holds=tuple(_holds(findings)),
        starts=tuple(dict.fromkeys(finding.start for _look, finding in findings if finding.start)),
        missed=tuple(look.name for look in looks if look.found == NOT_REACHED),
        left_out=_left_out(looks),
        tag="; ".join(dict.fromkeys(finding.reason for finding in tags)),
        is_critical=any(finding.is_critical for finding in tags),
    )


def findings_of(look, stage: str) -> Iterator[Finding]:
    """Yield what one look says, worst or not."""
    if look.found in LOOSE:
        yield from _loose(look)
    if look.found == TOOK_UP:
        yield from _took_up(look, stage)
    if look.found in {TOOK_UP, SLACK}:
        yield from _lock(look)
    if look.family == pieces.U_BOLTS:
        yield from _in_a_row(look, stage)
    yield from _pin(look)
    yield from _stud(look)
    if look.found != NOT_REACHED:
        yield from _unknown(look)
        yield from _wrench(look)
        yield from _not_renewed(look)


def _loose(look):
    said = _("%(joint)s: gone") if look.found == GONE else _("%(joint)s: slack")
    always, is_right = look.family in ALWAYS_TAGGED, _is_right(look)
    again = _again(look)
    if always or (look.is_critical and not is_right):
        yield Finding(_named(look, said), tags=True, is_critical=True, start=again)
    if not is_right:
        not_right = (
            _("%(joint)s: gone and not replaced")
            if look.found == GONE
            else _("%(joint)s: slack and not put right")
        )
        yield Finding(_named(look, not_right), holds=True)


def _is_right(look):
    """Whether it was left right: what was gone, with a new part in. Older looks as they say."""
    is_replaced = look.action in LOCKED_ANEW or look.loose_before is None
    return look.right_after and (look.found != GONE or is_replaced)


def _again(look):
    """The clock of a loose joint: looks of before steering and lugs had one start none."""
    if look.family == pieces.U_BOLTS:
        return Start(U_BOLT_SLACK)
    if look.loose_before is None:
        return None
    if look.family == pieces.LUGS:
        return Start(LUG_TOOK_UP, look.wheel)
    return Start(STEERING_LOOSE) if look.family == pieces.STEERING else None


def _took_up(look, stage):
    if look.family == pieces.LUGS:
        yield Finding(start=Start(LUG_TOOK_UP, look.wheel))
    if look.family == pieces.U_BOLTS:
        yield _u_bolt_took_up(look, stage)
    if not look.right_after:
        said = (
            _("%(joint)s: took up, and the whole wheel was not gone round again")
            if look.family == pieces.LUGS
            else _("%(joint)s: took up and does not hold its target yet")
        )
        yield Finding(_named(look, said), holds=True)


def _u_bolt_took_up(look, stage):
    if stage != RECURRING:
        return Finding(start=Start(U_BOLT_TOOK_UP))
    said = _("%(joint)s: took up after settling; look for a walked block or a cracked leaf")
    return Finding(_named(look, said), tags=True, start=Start(U_BOLT_SLACK))


def _in_a_row(look, stage):
    """Whether a U-bolt is loose again and again, or clean for the first time since."""
    before = look.loose_before or 0
    is_loose = look.found in LOOSE or (look.found == TOOK_UP and stage == RECURRING)
    if look.found == FIRM and look.clean_since == 0:
        yield Finding(start=Start(U_BOLT_SLACK))
    if is_loose and before >= LOOSE_TO_STAY_TAGGED - 1:
        said = _("%(joint)s: loose three times in a row; it stays tagged until the cause is found")
        yield Finding(_named(look, said), holds=True, tags=True, is_critical=True)
    elif is_loose and before >= LOOSE_TO_RENEW - 1 and look.action != "new bolt":
        said = _("%(joint)s: loose twice in a row; new U-bolts and nuts, and look for the cause")
        yield Finding(_named(look, said), holds=True)


def _lock(look):
    if look.is_thread_locked and look.action not in LOCKED_ANEW:
        said = _("%(joint)s: the thread-lock bond is broken; strip, clean and lock it again")
        yield Finding(_named(look, said), holds=True, start=Start(LOCK_AGAIN, look.name))


def _pin(look):
    if look.pin == "missing":
        said = _named(look, _("%(joint)s: pin missing"))
        again = _again(look) if look.family == pieces.STEERING else None
        yield Finding(said, holds=True, tags=True, is_critical=True, start=again)
    if look.pin == "pulled, not renewed":
        yield Finding(_named(look, _("%(joint)s: pin pulled and no new one fitted")), holds=True)
    if look.backed_off:
        said = _named(look, _("%(joint)s: castle nut backed off to fit the pin"))
        yield Finding(said, holds=True, tags=True, is_critical=look.is_critical)


def _stud(look):
    if look.stud_damaged:
        said = _named(look, _("%(joint)s: stud damaged"))
        unmended = look.action != "new bolt"
        yield Finding(said, holds=unmended, tags=True, is_critical=True)


def _unknown(look):
    if look.lacks:
        yield Finding(_named(look, UNKNOWN[look.lacks]()), holds=True)


def _wrench(look):
    """What was turned to a torque proves nothing by a wrench that cannot be believed."""
    is_turned = look.found != GONE or look.right_after
    if look.target_nm is not None and is_turned and look.wrench_state in DOUBTS:
        yield Finding(_named(look, DOUBTS[look.wrench_state]()), holds=True)


def _not_renewed(look):
    is_over = look.removals_allowed is not None and (look.removals or 0) > look.removals_allowed
    if is_over and look.action != "new nut":
        said = _("%(joint)s: its nut was off more often than it may be; fit a new one")
        yield Finding(_named(look, said), holds=True)
    if look.is_always_new and look.nut_off and look.action not in RENEWED:
        said = _("%(joint)s: undone and put back; it is to be new each time")
        yield Finding(_named(look, said), holds=True)


def _named(look, said):
    return said % {"joint": look.name}


def _holds(findings):
    for look, finding in findings:
        if finding.holds:
            for piece in sorted(pieces.of_look(look)):
                yield Hold(piece, finding.reason)


def _done(offered, looks, held):
    looked = [look for look in looks if look.found != NOT_REACHED]
    kept_open = {piece for look in looks if look.name in held for piece in pieces.of_look(look)}
    begun = {piece for look in looked for piece in _closing(look)}
    return frozenset(begun - kept_open - (_whole(looked) - _asked_whole(offered)))


def _whole(looks):
    """The pieces that are done only where all of their joints were asked for."""
    return {look.family for look in looks} | {pieces.JAM_NUTS}


def _asked_whole(offered):
    """The pieces of which each joint was asked for: all joints hold the jam nuts too."""
    asked = set(offered)
    return asked | {pieces.JAM_NUTS} if asked >= pieces.JOINTS else asked


def _left_out(looks):
    missed = (look for look in looks if look.found == NOT_REACHED and look.wheel)
    return frozenset(pieces.of_wheel(look.family, look.wheel) for look in missed)


def _closing(look):
    """The pieces that a look helps to close: locking anew only where it was done."""
    locked_anew = look.action in LOCKED_ANEW and look.right_after
    return pieces.of_look(look) - (set() if locked_anew else {pieces.of_relocking(look.name)})
