"""How much of its proof load the target of a joint asks of a bolt. Pure.

A joint here is anything with ``thread``, ``pitch_mm``, ``grade``, ``nut_factor`` and
``target_nm``, as a kit's rows have them.
"""

from collections.abc import Iterable
from decimal import Decimal

from lifts.preload import Share, galvanised_warning, share_of_proof
from lifts.threads import Thread, read_thread
from shared.units import Unreadable

SAME_PITCH_MM = 0.01  # a pitch is written to a hundredth


def thread_of(text: str, pitch_mm: Decimal | float | None = None) -> Thread | None:
    """Return the thread that ``text`` names, its pitch from ``pitch_mm`` where it names none.

    None for what is no straight thread: "taper", "rod", "spindle", no text.
    """
    written = (f"{text}x{float(pitch_mm):g}", text) if pitch_mm else (text,)
    for one in written:
        try:
            return read_thread(one)
        except Unreadable:
            continue
    return None


def pitches_disagree(text: str, pitch_mm: Decimal | float) -> bool:
    """Say whether ``text`` names a thread whose pitch is not ``pitch_mm``."""
    thread = thread_of(text, pitch_mm)
    return thread is not None and abs(thread.pitch_mm - float(pitch_mm)) > SAME_PITCH_MM


def share_of_target(joint) -> Share | None:
    """Return what share of proof the joint's target pulls its bolt to; see share_of_proof.

    None without a target, or where the thread cannot be read.
    """
    thread = thread_of(joint.thread, joint.pitch_mm)
    if thread is None or joint.target_nm is None:
        return None
    return share_of_proof(joint.target_nm, thread, joint.grade, joint.nut_factor)


def above_proof(joints: Iterable) -> list[tuple]:
    """Return (joint, share) of each joint whose target is above its bolt's proof load."""
    shares = [(joint, share_of_target(joint)) for joint in joints]
    return [(joint, share) for joint, share in shares if share and share.is_above_proof()]


def is_weaker_galvanised(joint) -> bool:
    """Say whether the joint's bolt is a hot-dip-galvanised M8 or M10, by its mark or grade."""
    thread = thread_of(joint.thread, joint.pitch_mm)
    said = "galvanised" if joint.is_galvanised else joint.grade
    return thread is not None and galvanised_warning(thread, said)
