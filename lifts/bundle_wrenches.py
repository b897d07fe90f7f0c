"""The bundle's tables of torque wrenches: the rack, certificates, checks and what befell them."""

from decimal import Decimal

from django.utils.translation import gettext_lazy as _

from fleet.bundle.cells import moment
from fleet.bundle.columns import DAY, MOMENT, YES_NO, Column, Table, number
from fleet.bundle.figure import Figure
from fleet.bundle.shapes import (
    OF_LINE,
    read_off,
    said,
    said_by_line,
    said_in_line,
    site_fact_table,
)
from lifts.models import WrenchCertificate, WrenchCheck, WrenchEvent, WrenchState
from lifts.racks import found_points, left_points, points_of, standings, wrenches_at
from lifts.wrench_error import is_out_of_tolerance

HUNDREDTH = Decimal("0.01")
OF_WRENCH = (
    Column("name", _("its name on the rack")),
    Column("type", _("click, dial, beam or electronic")),
    Column("full_scale_typed", _("full scale as typed")),
    number("full_scale_nm", _("full scale"), "N.m"),
    number("tolerance", _("largest error it may have, as a share of what is set")),
    Column("drive", _("drive")),
    Column("serial", _("serial number")),
    number("length_mm", _("from square to grip"), "mm"),
    number("adapter_mm", _("length of the adapter that hangs with it"), "mm"),
)
OF_STANDING = (
    Column("state", _("good, due, doubted or withdrawn, as of the day")),
    Column("why", _("why it is not good")),
    Column("due_on", _("last day of its certificate; empty: none"), DAY),
    Column("check_due_on", _("day on which its quick check is due"), DAY),
    number("pulls", _("pulls counted since its certificate")),
    number("most_pulls", _("pulls after which it is due")),
    number("interval_days", _("days for which a certificate holds; halved once found out"), "d"),
)


def wrench_rows(scope):
    for standing in standings(scope.site, scope.cut):
        yield {
            "wrench": standing.wrench.pk,
            **read_off(standing.wrench, OF_WRENCH),
            **read_off(standing, OF_STANDING),
            "last_good_at": moment(standing.last_good_at, scope.zone),
        }


WRENCHES = Table(
    "wrenches.csv",
    _("computed: each torque wrench of the rack, and how far it may be believed as of the day"),
    (
        Column("wrench", _("the wrench for good: the entry that first named it")),
        *OF_WRENCH,
        *OF_STANDING,
        Column("last_good_at", _("when it was last known to be good; empty: never"), MOMENT),
    ),
    wrench_rows,
    per_cart=False,
    key=("wrench",),
)


def _told(scope, model):
    """Yield the standing facts of a kind about the site's wrenches, with the wrench's name."""
    names = {wrench.pk: wrench.name for wrench in wrenches_at(scope.site, scope.cut)}
    for fact in scope.standing(model).filter(wrench__in=names):
        yield fact, {"wrench_name": names[fact.wrench_id]}


OF_A_WRENCH = (
    said("wrench", _("the wrench; see wrenches.csv")),
    Column("wrench_name", _("its name on the rack")),
)


def told_certificates(scope):
    told = list(_told(scope, WrenchCertificate))
    points = points_of([fact for fact, _cells in told])
    for fact, cells in told:
        found, left = (read(points[fact.pk]) for read in (found_points, left_points))
        yield (
            fact,
            {
                **cells,
                "points": len(found),
                "found_out": is_out_of_tolerance(found, fact.tolerance),
                "left_out": is_out_of_tolerance(left, fact.tolerance),
            },
        )


CERTIFICATES = site_fact_table(
    "wrench_certificates.csv",
    _("each certificate of a wrench, done on the day of calibration"),
    said("certificate", _("the certificate"), field="id"),
    (
        *OF_A_WRENCH,
        said("number", _("its number")),
        said("laboratory", _("who calibrated it")),
        said("tolerance", _("largest error, as a share of what is set"), numeric=True),
        said("file_name", _("name of its file as it came")),
        said("file_sha256", _("SHA-256 that its file is kept under; empty: none")),
        said("file_copy_sha256", _("of a picture, SHA-256 of the plain copy that is handed out")),
        number("points", _("torques at which it was measured; see wrench_points.csv")),
        Column("found_out", _("computed: out of tolerance as found"), YES_NO),
        Column("left_out", _("computed: out of tolerance as left"), YES_NO),
    ),
    told_certificates,
)


def point_rows(scope):
    told = list(_told(scope, WrenchCertificate))
    points = points_of([fact for fact, _cells in told])
    for fact, cells in told:
        for point in points[fact.pk]:
            yield {
                "certificate": fact.pk,
                **cells,
                **said_by_line(point, OF_POINT),
                "as_found_percent": 100 * point.as_found,
                "as_left_percent": 100 * point.as_left,
            }


OF_POINT = (
    *OF_LINE,
    said_in_line("set_typed", _("torque that was set, as typed")),
    said_in_line("set_nm", _("torque that was set"), "N.m", numeric=True),
    said_in_line("as_found", _("error as found, as a share of what was set"), numeric=True),
    said_in_line("as_left", _("error as left, as a share of what was set"), numeric=True),
)
POINTS = Table(
    "wrench_points.csv",
    _("the errors of each certificate, as found and as left; plus delivers more than was set"),
    (
        said("certificate", _("the certificate; see wrench_certificates.csv"), field="id"),
        OF_A_WRENCH[1],
        *OF_POINT,
        number("as_found_percent", _("computed: error as found, of what was set"), "%"),
        number("as_left_percent", _("computed: error as left, of what was set"), "%"),
    ),
    point_rows,
    per_cart=False,
    entry="certificate",
    key=("certificate", "of", "place"),
)


def told_checks(scope):
    for fact, cells in _told(scope, WrenchCheck):
        error = (100 * fact.error).quantize(HUNDREDTH)
        yield fact, {**cells, "error_percent": error, "is_good": fact.is_good}


CHECKS = site_fact_table(
    "wrench_checks.csv",
    _("each quick check of a wrench on the site's own tester"),
    said("check", _("the check"), field="id"),
    (
        *OF_A_WRENCH,
        said("tester", _("the tester")),
        said("set_typed", _("torque that was set, as typed")),
        said("set_nm", _("torque that was set"), "N.m", numeric=True),
        said("read_typed", _("what the tester read, as typed")),
        said("read_nm", _("what the tester read"), "N.m", numeric=True),
        said("tolerance", _("largest error, as a share of what is set"), numeric=True),
        number("error_percent", _("computed: error of what was set; plus delivers more"), "%"),
        Column("is_good", _("computed: within its tolerance"), YES_NO),
    ),
    told_checks,
)
BEFELL = site_fact_table(
    "wrench_events.csv",
    _("what befell a wrench: dropped or abused, so doubted at once, and withdrawn or back in use"),
    said("event", _("the event"), field="id"),
    (
        *OF_A_WRENCH,
        said("what", _("dropped, abused, withdrawn or returned")),
        said("note", _("note")),
    ),
    lambda scope: _told(scope, WrenchEvent),
)


class WrenchCount:
    """Counts the wrenches of the rack by state, as of the day."""

    def __init__(self, scope):
        self.scope = scope

    def take(self, batch):
        """Take nothing: wrenches are the site's."""

    def figures(self, lines):
        states = [one.state for one in standings(self.scope.site, self.scope.cut)]
        for state, (title, definition) in STATES.items():
            count = states.count(state)
            yield Figure(f"wrenches_{state}", title, count, UNIT, definition, WRENCHES.name)


UNIT = _("wrenches")
STATES = {
    WrenchState.GOOD: (
        _("torque wrenches good"),
        _("certificate and quick check in date, none found out, dropped or withdrawn since"),
    ),
    WrenchState.DUE: (
        _("torque wrenches due"),
        _("without a certificate, or past its day, its pulls or its quick check"),
    ),
    WrenchState.DOUBTED: (
        _("torque wrenches doubted"),
        _("dropped, abused, or failed at a check or a certificate, and not calibrated since"),
    ),
    WrenchState.WITHDRAWN: (
        _("torque wrenches withdrawn"),
        _("out of use as of the day"),
    ),
}
