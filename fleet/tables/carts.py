import django_tables2 as tables
from django.utils.html import format_html
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fleet.desk import Teller
from fleet.models import Cart
from shared.dates import shown_day
from shared.tables import BaseTable, NumberColumn

# on a phone a row is two lines: what begins the second, and what is left out
SECOND, WIDE = {"td": {"class": "second"}}, {"td": {"class": "wide"}}
WIDE_NUMBER = {"td": {"class": "num wide"}}


class CartTable(BaseTable):
    number = tables.Column(verbose_name=gettext_lazy("Cart"), linkify=True)
    goes = tables.Column(
        verbose_name=gettext_lazy("Goes?"), empty_values=(), orderable=False, accessor="number"
    )
    why = tables.Column(
        verbose_name=gettext_lazy("Why"),
        empty_values=(),
        orderable=False,
        accessor="number",
        attrs=SECOND,
    )
    is_lifted = tables.Column(verbose_name=gettext_lazy("Lifted"), attrs=WIDE)
    condition = tables.Column(attrs=WIDE)
    use_class = tables.Column(attrs=WIDE)
    seats = tables.Column(attrs=WIDE)
    power = tables.Column(attrs=WIDE)
    serial = tables.Column(attrs=WIDE)
    hours_shown = NumberColumn(verbose_name=gettext_lazy("Hours"), attrs=WIDE_NUMBER)
    distance_shown = NumberColumn(verbose_name=gettext_lazy("Distance"), attrs=WIDE_NUMBER)
    read_at = tables.Column(verbose_name=gettext_lazy("Last read"), attrs=WIDE)

    csv_name = "carts"

    class Meta(BaseTable.Meta):
        attrs = {"class": "ledger ledger-stack ledger-brief"}
        model = Cart
        fields = (
            "number",
            "goes",
            "area",
            "bay",
            "why",
            "is_lifted",
            "condition",
            "use_class",
            "seats",
            "power",
            "serial",
            "hours_shown",
            "distance_shown",
            "read_at",
        )
        empty_text = gettext_lazy("No cart matches.")

    def __init__(self, *args, site, **kwargs):
        self.site, self.teller = site, Teller(site)
        super().__init__(*args, **kwargs)

    def value_goes(self, record):
        return self.teller.said_of(record).word

    def render_goes(self, record):
        said = self.teller.said_of(record)
        style = "" if said.goes else " answer-word-no"
        return format_html('<span class="answer-word{}">{}</span>', style, said.word)

    def render_why(self, record):
        return self.teller.said_of(record).why

    def render_is_lifted(self, value):
        return _("yes") if value else ""

    def render_hours_shown(self, value):
        return f"{value:,.1f}"

    def value_hours_shown(self, value):
        return value

    def render_distance_shown(self, value, record):
        return f"{value:,.1f} {record.distance_unit}"

    def value_distance_shown(self, value):
        return value

    def render_read_at(self, value):
        return shown_day(self.site.day(value), self.site.date_order)

    def value_read_at(self, value):
        return self.site.day(value).isoformat()
