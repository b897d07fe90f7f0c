"""The versions of a site's rule book."""

import django_tables2 as tables
from django.urls import reverse
from django.utils.html import format_html
from django.utils.translation import gettext_lazy as _

from shared.dates import shown_moment
from shared.tables import BaseTable


class VersionTable(BaseTable):
    """Rows are RuleBooks; ``changes`` holds the Change behind each, by its id."""

    caption = _("Versions")
    csv_name = "rule-book-versions"

    version = tables.Column(verbose_name=_("Version"))
    in_force_from = tables.Column(verbose_name=_("In force from"))
    by = tables.Column(verbose_name=_("Changed by"), empty_values=())
    reason = tables.Column(verbose_name=_("Why"))

    class Meta(BaseTable.Meta):
        orderable = False

    def __init__(self, *args, site, changes, **kwargs):
        super().__init__(*args, **kwargs)
        self.site, self.changes = site, changes

    def render_version(self, value):
        url = reverse("rule-book-version", args=[self.site.slug, value])
        return format_html('<a href="{}">{}</a>', url, value)

    def render_in_force_from(self, value):
        return shown_moment(value, self.site.zone, self.site.date_order)

    def render_by(self, record):
        return self.changes[record.pk].by
