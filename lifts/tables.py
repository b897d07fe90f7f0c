import django_tables2 as tables
from django.utils.translation import gettext_lazy as _

from lifts.models import GreasePoint, Kit
from shared.dates import shown_moment
from shared.tables import BaseTable, NumberColumn

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
