import django_tables2 as tables
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from lifts.models import GreasePoint, Joint, Kit
from shared.dates import shown_moment
from shared.tables import BaseTable, NumberColumn
from shared.units import shown

YES = (_("yes"), "")


class MomentColumn(tables.Column):
    """A moment by the clock of the row's site."""

    def render(self, value, record):
        return shown_moment(value, record.site.zone, record.site.date_order)


class KitTable(BaseTable):
    name = tables.Column(linkify=True, verbose_name=_("Kit"))
    code = tables.Column(verbose_name=_("Code"))
    edition = tables.Column(verbose_name=_("Edition"))
    front = tables.Column(verbose_name=_("Front"))
    rear = tables.Column(verbose_name=_("Rear"))
    joint_count = NumberColumn(verbose_name=_("Joints"))
    without_target = NumberColumn(verbose_name=_("Without target"))
    from_at = MomentColumn(verbose_name=_("In force from"))
    replaced_at = MomentColumn(verbose_name=_("Until"))

    csv_name = "kits"

    class Meta(BaseTable.Meta):
        model = Kit
        fields = (
            "name",
            "code",
            "edition",
            "front",
            "rear",
            "joint_count",
            "without_target",
            "from_at",
            "replaced_at",
        )
        empty_text = _("No kit is on record at this site yet.")


class JointTable(BaseTable):
    """The joints of a kit, targets in the site’s units."""

    name = tables.Column(verbose_name=_("Joint"))
    family = tables.Column(verbose_name=_("Family"))
    wheel = tables.Column(verbose_name=_("Wheel"))
    count = NumberColumn(verbose_name=_("Count"))
    thread = tables.Column(verbose_name=_("Thread"))
    grade = tables.Column(verbose_name=_("Grade"))
    target_nm = NumberColumn(verbose_name=_("Target"))
    stages = tables.Column(verbose_name=_("Stages"))
    pattern = tables.Column(verbose_name=_("Order"))
    rule = tables.Column(empty_values=(), orderable=False, verbose_name=_("Special rule"))
    source = tables.Column(verbose_name=_("Whose figure"))

    caption = _("Joints, in walking order")
    csv_name = "joints"

    class Meta(BaseTable.Meta):
        model = Joint
        fields = (
            "name",
            "family",
            "wheel",
            "count",
            "thread",
            "grade",
            "target_nm",
            "stages",
            "pattern",
            "rule",
            "source",
        )

    def __init__(self, *args, units, **kwargs):
        self.units = units
        super().__init__(*args, **kwargs)

    def render_target_nm(self, value):
        return shown(value, "torque", self.units)

    def value_target_nm(self, value):
        return shown(value, "torque", self.units)

    def render_stages(self, value):
        return value.replace("->", "→")

    def value_stages(self, value):
        return value

    def render_rule(self, record):
        words = [
            record.is_critical and gettext("critical"),
            record.weight_on and gettext("weight on the axle"),
            record.thread_locker
            and gettext("thread-lock: %s") % record.get_thread_locker_display(),
            record.locking and record.get_locking_display(),
        ]
        return ", ".join(word for word in words if word)


class GreasePointTable(BaseTable):
    name = tables.Column(verbose_name=_("Grease point"))
    count = NumberColumn(verbose_name=_("Count"))
    is_rubber = tables.BooleanColumn(yesno=YES, verbose_name=_("Rubber, no grease"))
    weight_on = tables.BooleanColumn(yesno=YES, verbose_name=_("Weight on the wheels"))

    caption = _("Grease points")
    csv_name = ""

    class Meta(BaseTable.Meta):
        model = GreasePoint
        fields = ("name", "count", "is_rubber", "weight_on")
        empty_text = _("This kit names no grease point.")
