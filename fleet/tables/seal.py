"""The checkpoints of a site, newest first."""

import django_tables2 as tables
from django.utils.html import format_html
from django.utils.translation import gettext_lazy

from shared.checkpoint import time_of
from shared.dates import shown_moment
from shared.tables import BaseTable, NumberColumn

ROOT_DIGITS = 16


def file_name(row, site):
    return f"{site.slug}-{site.day(row.made_at):%Y-%m-%d}.txt"


class CheckpointTable(BaseTable):
    """Its file has all that the signed text says, by which each text can be written again."""

    caption = gettext_lazy("Checkpoints")
    csv_name = "checkpoints"

    made_at = tables.Column(verbose_name=gettext_lazy("Signed"))
    cause = tables.Column(verbose_name=gettext_lazy("Made"))
    size = NumberColumn(verbose_name=gettext_lazy("Journal entries"))
    epoch = NumberColumn(verbose_name=gettext_lazy("Epoch"))
    root = tables.Column(verbose_name=gettext_lazy("Root"))
    text = tables.Column(
        verbose_name=gettext_lazy("Its eight lines"),
        accessor="pk",
        exclude_from_export=True,
        linkify=("checkpoint-file", [tables.A("site__slug"), tables.A("pk")]),
    )
    site_id = tables.Column(verbose_name=gettext_lazy("Site"), visible=False)
    key = tables.Column(verbose_name=gettext_lazy("Public key"), visible=False)
    signature = tables.Column(verbose_name=gettext_lazy("Signature"), visible=False)

    class Meta(BaseTable.Meta):
        orderable = False
        empty_text = gettext_lazy("Nothing was signed yet.")

    def __init__(self, *args, site, **kwargs):
        super().__init__(*args, **kwargs)
        self.site = site

    def render_made_at(self, value):
        return shown_moment(value, self.site.zone, self.site.date_order)

    def value_made_at(self, value):
        return time_of(value)

    def render_root(self, value):
        return format_html("<code>{}…</code>", bytes(value).hex()[:ROOT_DIGITS])

    def render_text(self, record):
        return file_name(record, self.site)

    def value_root(self, value):
        return bytes(value).hex()
