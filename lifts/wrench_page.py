"""What the page and the card of one wrench show."""

from collections import namedtuple
from decimal import Decimal

from django.utils.text import capfirst
from django.utils.translation import gettext as _

from lifts.models import Joint, WrenchCertificate, WrenchCheck, WrenchEvent
from lifts.racks import points_of
from lifts.torque import WORKING_RANGE, is_in_working_range, set_for_adapter_nm
from lifts.wrench_error import ErrorPoint, is_out_of_tolerance
from shared.dates import shown_day, shown_moment
from shared.models import Strike
from shared.units import shown

ANGLES_DEG = (0, 45, 90)
MOST_TARGETS = 24

# ``done`` is its day or moment in words, ``taken_back`` why it was, empty where it stands
Told = namedtuple("Told", "fact done about taken_back")


def percent(share) -> str:
    """Return a share with its sign: "-3.0 %"."""
    return f"{share * 100:+.1f} %"


def within(tolerance) -> str:
    return f"± {tolerance * 100:.1f} %"


def pulls_of(standing) -> str:
    said = {"pulls": f"{standing.pulls:,}", "most": f"{standing.most_pulls:,}"}
    return _("%(pulls)s of %(most)s") % said


def range_of(wrench, units) -> str:
    """Return what a wrench is used for, 20 to 90 % of its full scale, in a site's units."""
    low, high = (
        shown(wrench.full_scale_nm * Decimal(str(share)), "torque", units)
        for share in WORKING_RANGE
    )
    return f"{low.partition(' ')[0]} – {high}"


def told_of(model, wrench, at) -> list[Told]:
    """Return the facts of a kind about a wrench, newest first, those taken back too."""
    facts = list(model.objects.filter(wrench=wrench).known(at).select_related("by"))
    facts.sort(key=lambda fact: (fact.done_at, fact.pk), reverse=True)
    struck = Strike.objects.filter(corrects__in=[fact.pk for fact in facts])
    whys = {one.corrects: one.why_corrected for one in (*facts, *struck) if one.corrects}
    return [Told(fact, _done(fact, wrench.site), None, whys.get(fact.pk, "")) for fact in facts]


def _done(fact, site):
    if fact.day_only:
        return shown_day(site.day(fact.done_at), site.date_order)
    return shown_moment(fact.done_at, site.zone, site.date_order)


def words_of(fact, site) -> str:
    """Return what an entry about a wrench is, in words: "Dropped, 03/03/2026 08:00"."""
    if isinstance(fact, WrenchCertificate):
        what = _("Certificate %s") % fact.number
    elif isinstance(fact, WrenchCheck):
        what = _("Quick check, %s") % percent(fact.error)
    else:
        what = capfirst(fact.get_what_display())
    return f"{what}, {_done(fact, site)}"


def certificates_of(wrench, at, units) -> list[Told]:
    """Return its certificates, each with (set, as found, as left) of its points in words."""
    told = told_of(WrenchCertificate, wrench, at)
    points = points_of([one.fact for one in told])
    return [one._replace(about=_points(one.fact, points[one.fact.pk], units)) for one in told]


def _points(certificate, points, units):
    def said(error):
        is_out = is_out_of_tolerance([ErrorPoint(1, float(error))], certificate.tolerance)
        return f"{percent(error)}, {_('outside')}" if is_out else percent(error)

    return [
        (shown(point.set_nm, "torque", units), said(point.as_found), said(point.as_left))
        for point in points
    ]


def checks_of(wrench, at) -> list[Told]:
    return told_of(WrenchCheck, wrench, at)


def events_of(wrench, at) -> list[Told]:
    return told_of(WrenchEvent, wrench, at)


def last_tester(wrench, at) -> str:
    """Return the tester that it was checked on last, empty for none."""
    last = WrenchCheck.objects.filter(wrench=wrench).known(at).order_by("done_at").last()
    return last.tester if last else ""


def adapter_lines(wrench, units) -> list[tuple]:
    """Return what to set through its adapter for each torque of the kits in force.

    Each is (torque at the nut, set at 0°, at 45°, at 90°); a setting that the wrench should
    not be used for is empty.
    """
    if not (wrench.adapter_mm and wrench.length_mm):
        return []
    lines = [
        (shown(nm, "torque", units), *(_set_for(wrench, nm, angle, units) for angle in ANGLES_DEG))
        for nm in _targets(wrench)
    ]
    return [line for line in lines if any(line[1:])]


def _targets(wrench):
    """Return the torques of the site's joints that may be tightened through an adapter."""
    joints = Joint.objects.filter(kit__site=wrench.site_id, kit__replaced_at=None, until_at=None)
    targets = joints.filter(no_adapter=False, target_nm__lte=wrench.full_scale_nm)
    return (
        targets.order_by("target_nm").values_list("target_nm", flat=True).distinct()[:MOST_TARGETS]
    )


def _set_for(wrench, target_nm, angle, units):
    lengths = {"wrench_mm": wrench.length_mm, "adapter_mm": wrench.adapter_mm}
    setting = set_for_adapter_nm(target_nm, angle_deg=angle, **lengths)
    if not is_in_working_range(setting, wrench.full_scale_nm):
        return ""
    return shown(Decimal(setting), "torque", units)
