"""What a flat really did, as a share of what the formula gives for it. Pure.

A share of 1 is the formula's own. Changes are degrees of camber or mm of toe, plus as in
geometry; both changes of one turn in the same unit.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from math import comb, hypot
from statistics import median

from alignment.counting import TOE
from alignment.judging import judge_pass
from alignment.readings import ROD, SIDES, SLEEVE, Sheet, Turn
from alignment.uncertainty import COVERAGE

HERE, OF_CART, OF_KIT, FORMULA = "sheet", "cart", "kit", "formula"
# how many clear turns each is asked for: common practice, no source
LEAST = {HERE: 1, OF_CART: 2, OF_KIT: 3}
# beyond these flats were miscounted or a part gives way: common practice, no source
BELIEVABLE = (1 / 3, 3.0)
CONFIDENCE = 0.95


@dataclass(frozen=True)
class Seen:
    """What one turn did and what the formula gave for it.

    ``standard`` is the standard uncertainty of ``change``.
    """

    change: float
    formula_change: float
    standard: float

    @property
    def share(self) -> float:
        return self.change / self.formula_change

    @property
    def is_clear(self) -> bool:
        """The formula's change is twice the expanded uncertainty or more."""
        least = 2 * COVERAGE * self.standard
        return self.formula_change != 0 and abs(self.formula_change) >= least


@dataclass(frozen=True)
class Learned:
    """The share of the formula that ``count`` turns did, and between what it lies."""

    share: float
    low: float
    high: float
    count: int


@dataclass(frozen=True)
class OtherWay:
    """So many clear turns of a cart, or of its kit, that moved against the formula."""

    source: str
    count: int


@dataclass(frozen=True)
class Gain:
    """What a flat is taken to do, and from where that is known.

    ``source`` is "sheet", "cart", "kit" or "formula"; ``learned`` is None for the formula.
    ``other_way`` is None unless most turns of before moved against the formula.
    """

    a_flat: float
    source: str
    learned: Learned | None = None
    other_way: OtherWay | None = None


@dataclass(frozen=True)
class Learnt:
    """What was seen on a cart and on all carts with its kit, of tie rods and of sleeves."""

    rod_cart: Sequence[Seen] = ()
    rod_kit: Sequence[Seen] = ()
    sleeve_cart: Sequence[Seen] = ()
    sleeve_kit: Sequence[Seen] = ()


def learn(seen: Iterable[Seen]) -> Learned | None:
    """Return the median share of the clear turns with its range; None without one.

    The range asks nothing of how shares are spread: from six on it holds the true median with
    95 % or more (order statistics by the binomial distribution, ISO 16269-7:2001); of fewer
    it is the smallest and the largest.
    """
    shares = sorted(one.share for one in seen if one.is_clear)
    if not shares:
        return None
    left_out = _left_out(len(shares))
    return Learned(median(shares), shares[left_out], shares[-1 - left_out], len(shares))


def _left_out(count: int) -> int:
    """Return how many of the smallest, and of the largest, lie outside the range.

    The true median is beyond the k + 1 smallest of n as often as k or fewer of n tossed
    coins show heads.
    """
    below, left_out = 0, -1
    while 2 * (below + comb(count, left_out + 1)) <= (1 - CONFIDENCE) * 2**count:
        left_out += 1
        below += comb(count, left_out)
    return max(left_out, 0)


def gain(
    formula_a_flat: float, *, here: Sequence[Seen], cart: Sequence[Seen], kit: Sequence[Seen]
) -> Gain:
    """Return what to take a flat for: the nearest that is known well enough.

    The last clear turn of this sheet; else this cart's; else its kit's; else the formula. A
    share of the wrong sign, or hardly to be believed, is never used.
    """
    last_here = [one for one in here if one.is_clear][-1:]
    against = moved_other_way(cart, OF_CART) or moved_other_way(kit, OF_KIT)
    for source, seen in ((HERE, last_here), (OF_CART, cart), (OF_KIT, kit)):
        learned = learn(seen)
        if learned is not None and learned.count >= LEAST[source] and _is_believable(learned):
            return Gain(formula_a_flat * learned.share, source, learned, against)
    return Gain(formula_a_flat, FORMULA, other_way=against)


def moved_other_way(seen: Sequence[Seen], source: str) -> OtherWay | None:
    """Return how many turns moved against the formula; None where most of them do not."""
    learned = learn(seen)
    if learned is None or learned.count < LEAST[source] or learned.share >= 0:
        return None
    return OtherWay(source, sum(one.is_clear and one.share < 0 for one in seen))


def _is_believable(learned: Learned) -> bool:
    least, most = BELIEVABLE
    return least <= learned.share <= most


def rods_seen(sheet: Sheet, formula_of: Callable[[Turn], float | None]) -> list[Seen]:
    """Return what the tie rods did, pass by pass, where nothing else was done in between.

    ``formula_of`` gives a turn's change of toe in mm, of its own rod; None where not known.
    """
    found = [
        _seen(sheet, pass_no, TOE, [formula_of(turn) for turn in turns])
        for pass_no, turns in _turned(sheet, ROD).items()
    ]
    return [one for one in found if one is not None]


def sleeves_seen(
    sheet: Sheet, formula_of: Callable[[Turn], float | None], sides: Sequence[str] = SIDES
) -> list[Seen]:
    """Return what these camber sleeves did, wheel by wheel: neither moves the other's camber.

    ``formula_of`` gives a turn's change of camber in degrees; None where not known.
    """
    found = [
        _seen(sheet, pass_no, f"camber {turn.at}", [formula_of(turn)])
        for pass_no, turns in _turned(sheet, SLEEVE).items()
        for turn in turns
        if turn.at in sides
    ]
    return [one for one in found if one is not None]


def _turned(sheet: Sheet, what: str) -> dict[int, list[Turn]]:
    """Return {pass: its turns} of the passes in which only parts of one kind were turned."""
    passes = sorted({turn.pass_no for turn in sheet.turns} - {sheet.drive_pass})
    by_pass = {no: [turn for turn in sheet.turns if turn.pass_no == no] for no in passes}
    return {no: turns for no, turns in by_pass.items() if {turn.what for turn in turns} == {what}}


def _seen(sheet, pass_no, name, formulas) -> Seen | None:
    if None in formulas or _is_recorded_void(sheet, name, pass_no):
        return None
    around = (judge_pass(sheet, no).results for no in (pass_no - 1, pass_no))
    before, after = (results.get(name) for results in around)
    if before is None or after is None:
        return None
    standard = hypot(before.standard, after.standard)
    return Seen(after.value - before.value, sum(formulas), standard)


def _is_recorded_void(sheet, name, pass_no):
    around = (pass_no - 1, pass_no)
    return name == TOE and any(toe.is_void for toe in sheet.toes if toe.pass_no in around)
