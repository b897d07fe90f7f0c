import django_tables2 as tables
from django.utils.html import format_html
from django.utils.translation import gettext_lazy as _

from shared.tables import BaseTable, NumberColumn


class CalledCartTable(BaseTable):
    """Today's carts, one row a cart whatever is due at it."""

    number = tables.Column(verbose_name=_("Cart"), linkify=True)
    place = tables.Column(verbose_name=_("Bay"))
    state = tables.Column(verbose_name=_("State"), order_by="rank")
    work = tables.Column(verbose_name=_("Work"), orderable=False)
    minutes = NumberColumn(verbose_name=_("Minutes"))

    caption = _("Carts called for today: the gravest state first, then by area and bay")
    csv_name = "carts-today"

    class Meta(BaseTable.Meta):
        empty_text = _("No cart is due today.")

    def render_state(self, record):
        return format_html(
            '<span class="state state-{}">{}</span>', record.state, record.state_word
        )

    def value_state(self, record):
        return record.state_word
