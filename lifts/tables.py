import django_tables2 as tables
from django.utils.translation import gettext_lazy as _

from lifts.models import GreasePoint, Joint, Kit
from shared.tables import BaseTable, NumberColumn
from shared.units import shown


class KitTable(BaseTable):
    name = tables.Column(linkify=True, verbose_name=_("Kit"))
    from_at = tables.DateColumn(verbose_name=_("In force from"))
    replaced_at = tables.DateColumn(verbose_name=_("Until"))
    joint_count = NumberColumn(verbose_name=_("Joints"))
    without_target = NumberColumn(verbose_name=_("Without target"))

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
    target_nm = NumberColumn(verbose_name=_("Target"))
    count = NumberColumn(verbose_name=_("Count"))
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
        return value

    def render_rule(self, record):
        words = [
            record.is_critical and _("critical"),
            record.weight_on and _("weight on the axle"),
            record.thread_locker and _("thread-lock %s") % record.get_thread_locker_display(),
            record.locking and record.get_locking_display(),
        ]
        return ", ".join(str(word) for word in words if word)


class GreasePointTable(BaseTable):
    count = NumberColumn(verbose_name=_("Count"))

    caption = _("Grease points")
    csv_name = ""

    class Meta(BaseTable.Meta):
        model = GreasePoint
        fields = ("name", "count", "is_rubber", "weight_on")
        empty_text = _("This kit names no grease point.")
