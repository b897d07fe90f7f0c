"""The people of a site and their roles."""

import django_tables2 as tables
from django.utils.html import format_html
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fleet.forms.people import is_in_force
from shared.dates import shown_day
from shared.models import Membership
from shared.tables import BaseTable


class PersonTable(BaseTable):
    name = tables.Column(
        verbose_name=gettext_lazy("Name"),
        accessor="person__name",
        linkify=("person-role", [tables.A("site__slug"), tables.A("person_id")]),
    )
    role = tables.Column(verbose_name=gettext_lazy("Role"))
    email = tables.Column(verbose_name=gettext_lazy("Mail address"), accessor="person__email")
    from_day = tables.Column(verbose_name=gettext_lazy("First day"))
    to_day = tables.Column(verbose_name=gettext_lazy("Last day"))
    may_release = tables.Column(verbose_name=gettext_lazy("May hand back"))
    is_above = tables.Column(verbose_name=gettext_lazy("Stands above"))

    csv_name = "people"

    class Meta(BaseTable.Meta):
        model = Membership
        fields = ()
        empty_text = gettext_lazy("Nobody has a role here.")

    def __init__(self, *args, site, day, **kwargs):
        super().__init__(*args, **kwargs)
        self.site, self.day = site, day

    def render_role(self, record):
        if is_in_force(record, self.day):
            return record.get_role_display()
        return format_html(
            "<span>{} <small>{}</small></span>", record.get_role_display(), _("not in force today")
        )

    def value_role(self, record):
        return record.role

    def render_from_day(self, value):
        return shown_day(value, self.site.date_order)

    def render_to_day(self, value):
        return shown_day(value, self.site.date_order)

    def value_from_day(self, value):
        return value.isoformat()

    def value_to_day(self, value):
        return value.isoformat()

    def render_may_release(self, record):
        return _("yes") if record.releases else ""

    def render_is_above(self, value):
        return _("yes") if value else ""
