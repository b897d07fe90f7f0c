import django_tables2 as tables
from django.utils.translation import gettext_lazy as _

from fleet.board import TITLES
from fleet.orders import orders_said
from fleet.why_now import what, why_now
from shared.tables import BaseTable, NumberColumn


class BoardTable(BaseTable):
    """The board as a CSV file: the page itself is drawn without it."""

    section = tables.Column(verbose_name=_("Section"))
    number = tables.Column(verbose_name=_("Cart"))
    work = tables.Column(verbose_name=_("What"))
    why = tables.Column(verbose_name=_("Why now"))
    ordered = tables.Column(verbose_name=_("Ordered"))
    due_on = tables.Column(verbose_name=_("Due"))
    late_on = tables.Column(verbose_name=_("Late from"))
    stops_on = tables.Column(verbose_name=_("Stopped from"))
    minutes = NumberColumn(verbose_name=_("Minutes"))
    area = tables.Column(verbose_name=_("Area"))
    bay = tables.Column(verbose_name=_("Bay"))

    csv_name = "board"


def board_table(rows, today, site):
    """Return the table of (section, Work) rows."""
    rows = list(rows)
    orders = orders_said([work for _section, work in rows])
    return BoardTable(
        [
            {
                "section": TITLES[section],
                "work": what(work),
                "why": why_now(work, today, site),
                "ordered": orders.get(work.anchor_id, ""),
                **work._asdict(),
            }
            for section, work in rows
        ]
    )
