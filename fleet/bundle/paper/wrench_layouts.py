"""How the tables of torque wrenches and of speed classes look in the report."""

from django.utils.translation import gettext_lazy as _

from fleet.bundle.paper.layouts import Layout

DOUBTS = Layout(
    "wrench_doubts.csv",
    _("Looks with a wrench later doubted"),
    _(
        "What was done with a wrench between when it was last known to be good and when it was "
        "found out. The rounds keep these looks as they were recorded."
    ),
    (
        ("cart", _("Cart"), 12),
        ("looked_at", _("Looked at"), 19),
        ("joint", _("Joint"), 34),
        ("wrench_name", _("Wrench"), 16),
        ("found_out_by", _("Found out by"), 19),
        ("found_out_at", _("Found out"), 19),
        ("doubted_after", _("Good until"), 19),
        ("target_nm", _("Target, N·m"), 14),
        ("error_percent", _("Error, %"), 13),
        ("delivered_nm", _("Got, N·m"), 14),
        ("verdict", _("Verdict"), 16),
        ("again_at", _("Looked at again"), 19),
        ("closed_at", _("Recheck closed"), 19),
        ("standing", _("Standing"), 22),
    ),
)
WRENCHES = Layout(
    "wrenches.csv",
    _("Torque wrenches"),
    _(
        "The rack as of the day. A wrench is due by the day of its certificate, by its pulls or "
        "by its quick check, whichever comes first."
    ),
    (
        ("name", _("Wrench"), 18),
        ("wrench", _("Id"), 17),
        ("type", _("Type"), 18),
        ("full_scale_typed", _("Full scale"), 18),
        ("serial", _("Serial number"), 22),
        ("state", _("State"), 18),
        ("why", _("Why"), 60),
        ("due_on", _("Certificate until"), 20),
        ("check_due_on", _("Quick check due"), 19),
        ("pulls", _("Pulls"), 13),
        ("most_pulls", _("Of at most"), 14),
        ("last_good_at", _("Last known good"), 20),
    ),
)
CERTIFICATES = Layout(
    "wrench_certificates.csv",
    _("Certificates of wrenches"),
    _("Each calibration. The file is kept at the site under the fingerprint that begins so."),
    (
        ("wrench_name", _("Wrench"), 20),
        ("done_at", _("Calibrated"), 21),
        ("number", _("Number"), 28),
        ("laboratory", _("Laboratory"), 40),
        ("tolerance", _("Tolerance"), 20),
        ("points", _("Points"), 14),
        ("found_out", _("Out as found"), 15),
        ("left_out", _("Out as left"), 15),
        ("by", _("Recorded by"), 22),
        ("received_at", _("Arrived here"), 20),
        ("file_sha256", _("File"), 34),
    ),
)
POINTS = Layout(
    "wrench_points.csv",
    _("Errors as found and as left"),
    _("Of each certificate, in percent of what was set; plus delivers more."),
    (
        ("wrench_name", _("Wrench"), 40),
        ("certificate", _("Certificate"), 40),
        ("place", _("Point"), 20),
        ("set_typed", _("Set"), 40),
        ("set_nm", _("Set, N·m"), 30),
        ("as_found_percent", _("As found, %"), 30),
        ("as_left_percent", _("As left, %"), 30),
    ),
)
CHECKS = Layout(
    "wrench_checks.csv",
    _("Quick checks of wrenches"),
    _("On the site's own tester."),
    (
        ("wrench_name", _("Wrench"), 24),
        ("done_at", _("Checked"), 22),
        ("by", _("By"), 26),
        ("tester", _("Tester"), 36),
        ("set_typed", _("Set"), 26),
        ("read_typed", _("Read"), 26),
        ("error_percent", _("Error, %"), 18),
        ("tolerance", _("Tolerance"), 20),
        ("is_good", _("Within it"), 18),
    ),
)
BEFELL = Layout(
    "wrench_events.csv",
    _("What befell wrenches"),
    _("Dropped or misused, a wrench is doubted at once and until a new certificate."),
    (
        ("wrench_name", _("Wrench"), 30),
        ("done_at", _("When"), 24),
        ("by", _("By"), 30),
        ("what", _("What"), 30),
        ("note", _("Note"), 120),
    ),
)
CLASSES = Layout(
    "speed_classes.csv",
    _("Speed classes"),
    _("The site's table, version by version; limits stand as their source prints them."),
    (
        ("version", _("Version"), 14),
        ("from_at", _("In force from"), 19),
        ("by", _("By"), 18),
        ("reason", _("Why"), 26),
        ("name", _("Class"), 38),
        ("limit_mph", _("Limit, mph"), 13),
        ("limit_kmh", _("Limit, km/h"), 13),
        ("limit_is_below", _("Below it"), 13),
        ("source", _("Source"), 44),
        ("edition", _("Edition"), 26),
        ("usual", _("Usual class"), 20),
        ("tags_over", _("Tags over it"), 13),
    ),
)
OF_WRENCHES = (WRENCHES, CERTIFICATES, POINTS, CHECKS, BEFELL)
