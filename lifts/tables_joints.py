from decimal import Decimal

import django_tables2 as tables
from django.utils.html import format_html, format_html_join
from django.utils.translation import gettext, ngettext
from django.utils.translation import gettext_lazy as _

from lifts.models import Joint
from lifts.proof import is_weaker_galvanised, share_of_target, thread_of
from lifts.proof_words import assumed, share_words
from lifts.torque import tolerance_band_nm
from shared.tables import BaseTable, NumberColumn
from shared.units import shown


def for_file(**about):
    """Return a column that stands in the file alone; the page has its figure beside another."""
    return tables.Column(visible=False, empty_values=(), **about)


def for_page(**about):
    """Return a column that stands on the page alone; its figures are columns of the file."""
    return tables.Column(
        empty_values=(), orderable=False, exclude_from_export=True, accessor="pk", **about
    )


class JointTable(BaseTable):
    """The joints of a kit, in the site’s units, with what their targets ask of their bolts."""

    name = tables.Column(verbose_name=_("Joint"))
    family = for_file(verbose_name=_("Family"))
    wheel = for_file(verbose_name=_("Wheel"))
    count = NumberColumn(verbose_name=_("Count"))
    bolt = for_page(verbose_name=_("Thread and grade"))
    thread = for_file(verbose_name=_("Thread"))
    grade = for_file(verbose_name=_("Grade"))
    aim = for_page(verbose_name=_("Target, low to high"))
    target_nm = for_file(verbose_name=_("Target"))
    band = for_file(accessor="pk", verbose_name=_("Low to high"))
    share = tables.Column(
        empty_values=(), orderable=False, accessor="pk", verbose_name=_("Share of proof load")
    )
    tightening = for_page(verbose_name=_("Stages and order"))
    stages = for_file(verbose_name=_("Stages"))
    pattern = for_file(verbose_name=_("Order"))
    rule = tables.Column(
        empty_values=(), orderable=False, accessor="pk", verbose_name=_("Special rule")
    )
    grip_mm = for_file(verbose_name=_("Grip"))
    nut_factor = for_file(verbose_name=_("K"))
    source = tables.Column(verbose_name=_("Whose figure"))

    caption = _("Joints, in walking order")
    csv_name = "joints"

    class Meta(BaseTable.Meta):
        fields = ()

    def __init__(self, *args, units, **kwargs):
        self.units = units
        super().__init__(*args, **kwargs)

    def render_name(self, record):
        where = [record.get_family_display(), record.get_wheel_display()]
        return _lines([record.name], where)

    def value_name(self, value):
        return value

    def render_family(self, record):
        return record.get_family_display()

    def render_wheel(self, record):
        return record.get_wheel_display()

    def render_bolt(self, record):
        grip, factor = self.render_grip_mm(record), self.render_nut_factor(record)
        more = [grip and gettext("grip %s") % grip, factor and gettext("K %s") % factor]
        return _lines([record.thread, record.grade], more)

    def render_aim(self, record):
        return _lines([self.render_target_nm(record)], [self.render_band(record)])

    def render_target_nm(self, record):
        if record.target_nm is not None:
            return shown(record.target_nm, "torque", self.units)
        return gettext("by look") if record.is_by_look else gettext("not recorded")

    def render_band(self, record):
        if record.target_nm is None:
            return ""
        band = tolerance_band_nm(record.target_nm, record.low_nm, record.high_nm)
        low, high = (shown(Decimal(str(nm)), "torque", self.units) for nm in band)
        return f"{low} – {high}"

    def render_share(self, record):
        return "; ".join(_said_of_proof(record))

    def render_tightening(self, record):
        order = record.pattern and record.get_pattern_display()
        return _lines([self.render_stages(record.stages), order])

    def render_stages(self, value):
        return value.replace("->", "→")

    def value_stages(self, value):
        return value

    def render_pattern(self, record):
        return record.get_pattern_display()

    def render_grip_mm(self, record):
        return "" if record.grip_mm is None else shown(record.grip_mm, "length", self.units, 1)

    def render_nut_factor(self, record):
        return "" if record.nut_factor is None else f"{record.nut_factor.normalize():f}"

    def render_rule(self, record):
        return ", ".join(_rules(record))


def _lines(*lines):
    """Return what is said, a line below another, without the empty ones."""
    said = [", ".join(word for word in words if word) for words in lines]
    first, *more = [line for line in said if line] or [""]
    return format_html(
        "{}{}", first, format_html_join("", "<br><small>{}</small>", ([line] for line in more))
    )


def _said_of_proof(joint):
    share = share_of_target(joint)
    if share:
        above = gettext("ABOVE PROOF LOAD") if share.is_above_proof() else ""
        yield " ".join(filter(None, (above, share_words(share))))
        yield from assumed(joint, share)
    elif joint.target_nm is not None and thread_of(joint.thread, joint.pitch_mm) is None:
        yield gettext("not computed: no thread size")
    if is_weaker_galvanised(joint):
        yield gettext("galvanised: an M8 or M10 carries less than its class says")


def _rules(joint):
    """Yield what is to be minded at a joint, in words."""
    marks = (
        (joint.is_critical, gettext("critical")),
        (joint.weight_on, gettext("weight on the axle")),
        (joint.is_by_look, gettext("by look, no torque")),
        (joint.no_adapter, gettext("no adapter on the wrench")),
        (joint.always_new, gettext("new each time")),
        (joint.family == Joint.Family.HUB_NUTS, gettext("hub bearing type known first")),
    )
    yield from (words for is_so, words in marks if is_so)
    if joint.thread_locker:
        yield gettext("thread-lock: %s") % joint.get_thread_locker_display()
    if joint.locking:
        yield joint.get_locking_display()
    if joint.removals_allowed is not None:
        times = joint.removals_allowed
        yield ngettext("off %s time at most", "off %s times at most", times) % times
