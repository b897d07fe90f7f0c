"""What a preview shows: wrong cells, what changes; and the sheets of the past."""

import django_tables2 as tables
from django.utils.html import format_html_join
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fleet.kinds import register
from fleet.models import ImportRun
from shared.dates import shown_moment
from shared.tables import BaseTable


class CellTable(BaseTable):
    """Cells of a sheet that are wrong, or hardly likely."""

    line = tables.Column(verbose_name=gettext_lazy("Line"), orderable=False)
    column = tables.Column(verbose_name=gettext_lazy("Column"), orderable=False)
    value = tables.Column(verbose_name=gettext_lazy("What stands there"), orderable=False)
    accepted = tables.Column(verbose_name=gettext_lazy("What would be accepted"), orderable=False)

    csv_name = ""

    class Meta(BaseTable.Meta):
        pass

    def __init__(self, cells, *, caption):
        super().__init__(cells)
        self.caption = caption

    def render_line(self, value):
        return _("line %d") % value


class ToldTable(BaseTable):
    """Rows of a sheet that change something."""

    line = tables.Column(verbose_name=gettext_lazy("Line"), orderable=False)
    cart = tables.Column(verbose_name=gettext_lazy("Cart"), orderable=False)
    what = tables.Column(verbose_name=gettext_lazy("What changes"), orderable=False)

    csv_name = ""

    class Meta(BaseTable.Meta):
        pass

    render_line = CellTable.render_line

    def render_what(self, value):
        return format_html_join("", "<div>{}</div>", ((sentence,) for sentence in value))


class ImportRunTable(BaseTable):
    name = tables.Column(
        verbose_name=gettext_lazy("File"),
        linkify=("import-run", [tables.A("site__slug"), tables.A("pk")]),
    )
    sheet = tables.Column(verbose_name=gettext_lazy("Sheet"))
    asked_at = tables.Column(verbose_name=gettext_lazy("When"))
    asked_by = tables.Column(verbose_name=gettext_lazy("By"))
    state = tables.Column(verbose_name=gettext_lazy("State"))

    csv_name = ""

    class Meta(BaseTable.Meta):
        model = ImportRun
        fields = ()
        orderable = False
        empty_text = gettext_lazy("No sheet was brought in yet.")

    def render_sheet(self, record):
        return register.importers[record.sheet].title

    def render_asked_at(self, record):
        return shown_moment(record.asked_at, record.site.zone, record.site.date_order)

    def render_state(self, record):
        return state_of(record)


def state_of(run):
    """Return the state of a run in words."""
    if run.state == ImportRun.State.DONE:
        return _("looked at, not brought in") if run.is_trial else _("brought in")
    return run.get_state_display()
