"""The bundle's table of what camber and toe are held to: who said what, from when."""

from django.utils.translation import gettext_lazy as _

from alignment.models import AlignmentSpec
from fleet.bundle.cells import moment
from fleet.bundle.columns import MOMENT, Column
from fleet.bundle.shapes import said, site_fact_table


def told_specs(scope):
    """Yield what was told of each kit in order of arrival; the last one stands, whole."""
    told = scope.standing(AlignmentSpec).filter(site=scope.site)
    told, until = list(told.order_by("received_at", "id")), {}
    ended = {}
    for spec in reversed(told):
        ended[spec.pk] = until.get(spec.kit_code)
        until[spec.kit_code] = spec.received_at
    for spec in told:
        yield spec, {"until_at": moment(ended[spec.pk], scope.zone)}


FIGURES = site_fact_table(
    "alignment_figures.csv",
    _("what camber and toe are held to and how carts are adjusted, each time that was told"),
    said("spec", _("the entry that says so"), field="id"),
    (
        said("kit_code", _("short name of the lift; empty: all carts of the site")),
        said("source", _("whose figures they are")),
        said("camber_low_deg", _("lower limit of camber; empty: not told"), "°", numeric=True),
        said("camber_high_deg", _("upper limit of camber; empty: not told"), "°", numeric=True),
        said("side_to_side_deg", _("how far both may differ; empty: not told"), "°", numeric=True),
        said("toe_low_typed", _("lower limit of toe, as typed")),
        said("toe_low_mm", _("lower limit of toe; empty: not told"), "mm", numeric=True),
        said("toe_high_typed", _("upper limit of toe, as typed")),
        said("toe_high_mm", _("upper limit of toe; empty: not told"), "mm", numeric=True),
        said("rods", _("two tie rods, or one across")),
        said("rod_ends", _("thread of a tie rod: at one end, or left- and right-hand")),
        said("rod_pitch_typed", _("pitch of its thread, as typed")),
        said("rod_pitch_mm", _("pitch of its thread"), "mm", numeric=True),
        said("rod_right_hand", _("end with its right-hand thread: wheel, middle; empty: not told")),
        said("arm_typed", _("length of the steering arm, as typed")),
        said("arm_mm", _("length of the steering arm"), "mm", numeric=True),
        said("arm", _("steering arm ahead of the axle or behind it")),
        said("rod_height_typed", _("the tie rod's end above the lower joint, as typed")),
        said("rod_height_mm", _("the tie rod's end above the lower joint"), "mm", numeric=True),
        said("camber_adjusts", _("sleeve, or not adjustable; empty: not told")),
        said("sleeve_ends", _("thread of the sleeve: at one end, or left- and right-hand")),
        said("sleeve_pitch_typed", _("pitch of its thread, as typed")),
        said("sleeve_pitch_mm", _("pitch of its thread"), "mm", numeric=True),
        said(
            "sleeve_right_hand",
            _("end with its right-hand thread: wheel, middle; empty: not told"),
        ),
        said("knuckle_typed", _("height of the knuckle, as typed")),
        said("knuckle_mm", _("height of the knuckle"), "mm", numeric=True),
        said("note", _("note; why, where figures told before were changed")),
        Column("until_at", _("others were told from then on; empty: in force"), MOMENT),
    ),
    told_specs,
)
