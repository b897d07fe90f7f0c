"""How the tie rods centre a steering wheel that stands to one side, with toe left alone. Pure."""

from dataclasses import dataclass

from alignment.advice import Centring, Rod, centring
from alignment.readings import ROD, SIDES, Sheet


@dataclass(frozen=True)
class Stands:
    """How a steering wheel stood as found, driving straight: ``to`` which side.

    ``off_deg``: by how much both road wheels point off straight once it is centred; None where
    that was not measured.
    """

    to: str
    off_deg: float | None = None


@dataclass(frozen=True)
class Centre:
    """What still centres it: so many ``flats`` on each side, None where how far is not known."""

    how: Centring
    flats: float | None

    @property
    def of_sides(self) -> dict[str, float]:
        """Return the flats of each side, plus longer; none where how far is not known."""
        if self.flats is None:
            return {}
        return {self.how.longer: self.flats, self.how.shorter: -self.flats}


def to_centre(stands: Stands | None, rod: Rod | None, sheet: Sheet) -> Centre | None:
    """Return what is still to be turned in whole flats, what was turned unlike taken off.

    None where it was not said to stand off, is centred at a drag link, or is centred by now.
    """
    if stands is None or rod is None or rod.is_across:
        return None
    how, turned = centring(rod, stands.to), _turned_apart(sheet)
    if turned is None or (stands.off_deg is None and turned):
        return None
    if stands.off_deg is None:
        return Centre(how, None)
    left = round(stands.off_deg * how.flats_a_deg * (1 if how.longer == "left" else -1) - turned)
    if not left:
        return None
    # turned too far, the sides change places
    other = Centring(how.shorter, how.longer, how.flats_a_deg)
    return Centre(how if (left > 0) == (how.longer == "left") else other, abs(left))


def _turned_apart(sheet) -> float | None:
    """Return by how many flats the left rod was made longer and the right one shorter."""
    rods = [turn for turn in sheet.turns if turn.what == ROD and turn.at in SIDES]
    if any(turn.longer_flats is None for turn in rods):
        return None
    return sum(turn.longer_flats * (1 if turn.at == "left" else -1) for turn in rods) / 2
