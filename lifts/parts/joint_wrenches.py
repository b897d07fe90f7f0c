"""Which wrenches a mechanic carries on a round, and which of them a joint is tightened with."""

from datetime import timedelta
from decimal import Decimal

from django.utils.translation import gettext as _

from fleet.kinds import Cut
from lifts.models import JointPart, WrenchState
from lifts.racks import standing_of, standings
from lifts.torque import WORKING_RANGE, is_in_working_range
from shared.units import shown

STILL_CARRIED = timedelta(hours=12)  # a shift; judgement, no source
BETWEEN_NAMES = ", "
LONGEST_NAMES = JointPart._meta.get_field("wrench").max_length


class Rack:
    """The wrenches of the visited site as they stood at a moment of the visit, by their ids."""

    def __init__(self, visit, at=None):
        self.cut = Cut(at or visit.at, visit.known_by)
        self.units = visit.site.units
        self.standings = {str(one.wrench.pk): one for one in standings(visit.site, self.cut)}

    def choices(self):
        return [(pk, self._said(one)) for pk, one in self.standings.items()]

    def _said(self, standing):
        said = f"{standing.wrench.name}, {range_words(standing.wrench, self.units)}"
        if standing.is_good:
            return said
        return BETWEEN_NAMES.join(
            words for words in (said, str(standing.state.label), standing.why) if words
        )

    def of(self, ids):
        return [self.standings[pk].wrench for pk in ids if pk in self.standings]

    def state_of(self, wrench):
        """Return how far a wrench may be believed, though it came to the rack later."""
        known = self.standings.get(str(wrench.pk)) or standing_of(wrench, self.cut)
        return WrenchState(known.state).value


def range_words(wrench, units):
    """Say between which torques a wrench may be used: "16 to 72 N·m"."""
    low, high = (
        shown(wrench.full_scale_nm * Decimal(str(share)), "torque", units, 0)
        for share in WORKING_RANGE
    )
    return _("%(low)s to %(high)s") % {"low": low.partition(" ")[0], "high": high}


def reaches(wrench, target_nm) -> bool:
    return is_in_working_range(target_nm, wrench.full_scale_nm)


def best_for(target_nm, wrenches):
    """Return the wrench whose working range covers a torque best, else the nearest one.

    None where there is none to choose from.
    """
    reaching = [wrench for wrench in wrenches if reaches(wrench, target_nm)]
    if reaching:
        return min(reaching, key=lambda wrench: abs(_middle(wrench) - target_nm))
    return min(wrenches, key=lambda wrench: _short_of(wrench, target_nm), default=None)


def _middle(wrench):
    return wrench.full_scale_nm * Decimal(str(sum(WORKING_RANGE) / 2))


def _short_of(wrench, target_nm):
    """Return by how much a torque lies outside the wrench's working range."""
    low, high = (wrench.full_scale_nm * Decimal(str(share)) for share in WORKING_RANGE)
    return max(low - target_nm, target_nm - high)


def carried_before(visit, rack) -> list[str]:
    """Return the ids of the wrenches carried on this person's last round of the shift.

    A round told again was gone with the wrenches that it says.
    """
    parts = JointPart.objects.known(visit.at, visit.known_by).standing(visit.known_by)
    if visit.corrects:
        parts = parts.filter(round=visit.corrects)
    else:
        since = visit.at - STILL_CARRIED
        parts = parts.filter(site=visit.site, by=visit.by_id, done_at__gte=since)
    last = parts.order_by("done_at", "id").last()
    names = last.wrench.split(BETWEEN_NAMES) if last else []
    return [pk for pk, one in rack.standings.items() if one.wrench.name in names]


def names_of(wrenches) -> str:
    """Return the names as one text, as many as its column holds."""
    said = ""
    for wrench in wrenches:
        longer = BETWEEN_NAMES.join(filter(None, [said, wrench.name]))
        if len(longer) > LONGEST_NAMES:
            break
        said = longer
    return said
