"""What happens to the torque wrenches of a rack: named, calibrated, checked, dropped.

``id`` makes a second sending of the same act the first one again; ``done_at`` None is
the moment of arrival.
"""

from django.db import transaction

from lifts.models import Wrench, WrenchCertificate, WrenchCheck, WrenchEvent, WrenchPoint
from lifts.point_lines import FEWEST_POINTS
from lifts.racks import WRENCH, wrench_row
from shared.facts import lock_sites, record, strike
from shared.models import Change, new_id


class WrenchKnown(Exception):
    """The site has a wrench of that name already."""


class TooFewPoints(ValueError):
    """A certificate says its errors at fewer than three torques."""


@transaction.atomic
def add_wrench(site, value, *, by, at, id=None):
    """Record a wrench from its whole value and return its row. Raises WrenchKnown."""
    lock_sites(site.pk)
    change = Change(id=id or new_id(), site=site, what=WRENCH, value=value, by=by)
    _refuse_known_name(site.pk, value["name"], change.pk)
    if record(change, at=at).first:
        wrench_row(change).save(force_insert=True)
    return Wrench.objects.get(pk=change.pk)


@transaction.atomic
def change_wrench(wrench, value, *, reason, by, at, id=None):
    """Record what is now said of a wrench, its whole value. Raises WrenchKnown."""
    lock_sites(wrench.site_id)
    change = Change(
        id=id or new_id(),
        site_id=wrench.site_id,
        what=WRENCH,
        value={**value, WRENCH: str(wrench.pk)},
        reason=reason,
        by=by,
    )
    _refuse_known_name(wrench.site_id, value["name"], wrench.pk)
    if record(change, at=at).first:
        row = wrench_row(change)
        row.from_at = wrench.from_at
        row.save(force_update=True)
    return Wrench.objects.get(pk=wrench.pk)


def _refuse_known_name(site_id, name, own_id):
    if Wrench.objects.filter(site_id=site_id, name=name).exclude(pk=own_id).exists():
        raise WrenchKnown(name)


def add_certificate(wrench, about, points, *, by, at, id=None, **when):
    """Record a laboratory's certificate; ``about`` are its own values, ``points`` unsaved.

    ``when`` are done_at and day_only: the day of calibration. A file is on disk before.
    Raises TooFewPoints.
    """
    if len(points) < FEWEST_POINTS:
        raise TooFewPoints(len(points))
    certificate = _fact(WrenchCertificate, wrench, by, id, **about, **when)
    return record(certificate, *points, at=at).fact


def add_quick_check(wrench, about, *, by, at, id=None, **when):
    """Record a check on the site's own tester."""
    return record(_fact(WrenchCheck, wrench, by, id, **about, **when), at=at).fact


def add_event(wrench, what, *, by, at, note="", id=None, **when):
    """Record what befell a wrench: dropped, abused, withdrawn or back in use."""
    return record(_fact(WrenchEvent, wrench, by, id, what=what, note=note, **when), at=at).fact


def strike_of_wrench(fact, *, reason, by, at, id=None):
    """Take back a certificate, a check or an event. Raises NotStanding."""
    return strike(fact, reason=reason, by=by, at=at, id=id).fact


def _fact(model, wrench, by, id, **values):
    return model(id=id or new_id(), site_id=wrench.site_id, wrench=wrench, by=by, **values)


def certificate_points(rows):
    """Return the unsaved lines of a certificate from (typed, N.m, as found, as left)."""
    return [
        WrenchPoint(place=place, set_typed=typed, set_nm=set_nm, as_found=found, as_left=left)
        for place, (typed, set_nm, found, left) in enumerate(rows, start=1)
    ]
