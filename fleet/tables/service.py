"""The signs of the service, as a manager reads them."""

import django_tables2 as tables
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from shared.tables import BaseTable


def rows_of(found, viewer):
    """Return a row a sign; of sites only those of the viewer are named."""
    return [
        {
            "title": sign.title,
            "state": _("trouble") if sign.is_trouble else _("well"),
            "said": sign.said,
            "todo": sign.todo,
            "sites": ", ".join(slug for slug in sign.sites if viewer.site_called(slug)),
        }
        for sign in found
    ]


def table_of(found, viewer, *, without=()):
    """Return the table of some signs, without the columns that none of them fills."""
    rows = rows_of(found, viewer)
    bare = () if any(row["sites"] for row in rows) else ("sites",)
    return SignTable(rows, exclude=(*without, *bare))


class SignTable(BaseTable):
    csv_name = ""

    title = tables.Column(verbose_name=gettext_lazy("What"))
    state = tables.Column(verbose_name=gettext_lazy("State"))
    said = tables.Column(verbose_name=gettext_lazy("Seen"))
    sites = tables.Column(verbose_name=gettext_lazy("Your site"))
    todo = tables.Column(verbose_name=gettext_lazy("What to do"))

    class Meta(BaseTable.Meta):
        orderable = False
