"""The surveyors of a site, and what they looked at there."""

from functools import cached_property

import django_tables2 as tables
from django.utils.html import format_html
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fleet.forms.people import is_in_force
from fleet.surveying import ID, carts_in
from shared.dates import shown_day, shown_moment
from shared.tables import BaseTable


class SurveyorTable(BaseTable):
    caption = gettext_lazy("Who may look")
    csv_name = ""

    name = tables.Column(
        verbose_name=gettext_lazy("Name"),
        accessor="person__name",
        linkify=("person-role", [tables.A("site__slug"), tables.A("person_id")]),
    )
    from_day = tables.Column(verbose_name=gettext_lazy("First day"))
    to_day = tables.Column(verbose_name=gettext_lazy("Last day"))
    way_in = tables.Column(verbose_name=gettext_lazy("Way in"), empty_values=(), accessor="pk")
    last_look = tables.Column(verbose_name=gettext_lazy("Last look"), default=gettext_lazy("none"))

    class Meta(BaseTable.Meta):
        orderable = False
        empty_text = gettext_lazy("Nobody surveys this site. Add a surveyor on the page of people.")

    def __init__(self, *args, site, day, **kwargs):
        super().__init__(*args, **kwargs)
        self.site, self.day = site, day

    def render_from_day(self, value):
        return shown_day(value, self.site.date_order)

    def render_to_day(self, value, record):
        shown = shown_day(value, self.site.date_order)
        if is_in_force(record, self.day):
            return shown
        return format_html("{} <small>{}</small>", shown, _("not in force today"))

    def render_way_in(self, record):
        said = {"day": self._day(record.link_withdrawn_at or record.link_at)}
        if record.link_withdrawn_at is not None:
            words = _("link withdrawn on %(day)s") % said
        elif record.link_at is not None:
            words = _("link of %(day)s") % said
        else:
            words = "" if record.person.has_usable_password() else _("none")
        both = [words, _("password") if record.person.has_usable_password() else ""]
        return ", ".join(filter(None, both))

    def _day(self, at):
        return at and shown_day(self.site.day(at), self.site.date_order)

    def render_last_look(self, value):
        return shown_moment(value, self.site.zone, self.site.date_order)


class LookTable(BaseTable):
    caption = gettext_lazy("What was looked at")
    csv_name = "surveyors"

    at = tables.Column(verbose_name=gettext_lazy("When"))
    person = tables.Column(verbose_name=gettext_lazy("Who"), accessor="person__name")
    is_download = tables.Column(verbose_name=gettext_lazy("How"))
    page = tables.Column(verbose_name=gettext_lazy("Page"))
    address = tables.Column(verbose_name=gettext_lazy("Address"))

    class Meta(BaseTable.Meta):
        orderable = False
        empty_text = gettext_lazy("No surveyor looked at anything here.")

    def __init__(self, *args, site, **kwargs):
        super().__init__(*args, **kwargs)
        self.site = site

    @cached_property
    def numbers(self):
        rows = self.page.object_list if hasattr(self, "page") else self.rows
        return carts_in([row.record.address for row in rows], self.site)

    def render_at(self, value):
        return shown_moment(value, self.site.zone, self.site.date_order)

    def value_at(self, value):
        return value.isoformat()

    def render_is_download(self, value):
        if value:
            return format_html("<strong>{}</strong>", _("downloaded"))
        return _("looked")

    def value_is_download(self, value):
        return "downloaded" if value else "looked"

    def render_page(self, record):
        words = record.page.replace("-", " ")
        ids = ID.findall(record.address)
        number = next((self.numbers[found] for found in ids if found in self.numbers), None)
        return words if number is None else f"{words}, {_('cart %s') % number}"

    def value_page(self, value):
        return value

    def render_address(self, value):
        return format_html('<a href="{}">{}</a>', value, value)

    def value_address(self, value):
        return value
