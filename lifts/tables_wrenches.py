import django_tables2 as tables
from django.utils.html import format_html
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from lifts.wrench_page import percent, pulls_of, range_of, within
from shared.dates import shown_day, shown_moment
from shared.tables import BaseTable, NumberColumn
from shared.units import shown


class OfSite(BaseTable):
    """Cells by the days and units of a site."""

    def __init__(self, *args, site, **kwargs):
        self.site = site
        super().__init__(*args, **kwargs)

    def day(self, value):
        return shown_day(value, self.site.date_order)

    def moment(self, value):
        return shown_moment(value, self.site.zone, self.site.date_order)


class RackTable(OfSite):
    """The standings of a site's wrenches."""

    wrench = tables.Column(linkify=lambda value: value.get_absolute_url(), verbose_name=_("Wrench"))
    type = tables.Column(accessor="wrench__get_type_display", verbose_name=_("Type"))
    range = tables.Column(accessor="wrench", orderable=False, verbose_name=_("Use it for"))
    state = tables.Column(verbose_name=_("State"))
    due_on = tables.Column(verbose_name=_("Certificate holds until"))
    check_due_on = tables.Column(verbose_name=_("Quick check due"))
    pulls = NumberColumn(verbose_name=_("Pulls"))
    last_good_at = tables.Column(verbose_name=_("Last known good"))

    csv_name = "wrenches"

    class Meta(BaseTable.Meta):
        empty_text = _("No wrench is on record at this site yet.")

    def render_range(self, value):
        return range_of(value, self.site.units)

    def value_range(self, value):
        return range_of(value, self.site.units)

    def render_state(self, value, record):
        return format_html(
            '<span class="state state-{}">{}</span> <small>{}</small>',
            value,
            value.label,
            record.why,
        )

    def value_state(self, value, record):
        return f"{value.label}: {record.why}" if record.why else value.label

    def render_due_on(self, value):
        return self.day(value)

    def render_check_due_on(self, value):
        return self.day(value)

    def render_last_good_at(self, value):
        return self.moment(value)

    def render_pulls(self, record):
        return pulls_of(record)

    def value_pulls(self, value):
        return value


class ToldTable(OfSite):
    """Facts about one wrench, those taken back too."""

    done = tables.Column(orderable=False, verbose_name=_("Done on"))
    by = tables.Column(accessor="fact__by", orderable=False, verbose_name=_("By"))
    taken_back = tables.Column(orderable=False, empty_values=(), verbose_name=_("Taken back"))

    csv_name = ""

    class Meta(BaseTable.Meta):
        pass

    def __init__(self, *args, strike_url=None, **kwargs):
        self.strike_url = strike_url
        super().__init__(*args, **kwargs)

    def render_taken_back(self, value, record):
        if value:
            return value
        if self.strike_url is None:
            return ""
        url = self.strike_url(record.fact)
        return format_html('<a href="{}">{}</a>', url, gettext("Take it back"))


class CheckTable(ToldTable):
    set = tables.Column(accessor="fact__set_nm", orderable=False, verbose_name=_("Set"))
    read = tables.Column(accessor="fact__read_nm", orderable=False, verbose_name=_("Read"))
    error = tables.Column(accessor="fact__error", orderable=False, verbose_name=_("Error"))
    is_good = tables.Column(accessor="fact__is_good", orderable=False, verbose_name=_("Verdict"))
    tester = tables.Column(accessor="fact__tester", orderable=False, verbose_name=_("Tester"))

    caption = _("Quick checks")

    class Meta(ToldTable.Meta):
        sequence = ("done", "set", "read", "error", "is_good", "tester", "by", "taken_back")
        empty_text = _("No quick check is on record.")

    def render_set(self, value):
        return shown(value, "torque", self.site.units)

    def render_read(self, value):
        return shown(value, "torque", self.site.units)

    def render_error(self, value):
        return percent(value)

    def render_is_good(self, value, record):
        verdict = "inside" if value else "outside"
        words = gettext("inside") if value else gettext("outside")
        return format_html(
            '<span class="verdict verdict-{}">{}</span> <small>{}</small>',
            verdict,
            words,
            within(record.fact.tolerance),
        )


class EventTable(ToldTable):
    what = tables.Column(accessor="fact__get_what_display", orderable=False, verbose_name=_("What"))
    note = tables.Column(accessor="fact__note", orderable=False, verbose_name=_("Why"))

    caption = _("Drops, misuse, out of use and back")

    class Meta(ToldTable.Meta):
        sequence = ("done", "what", "note", "by", "taken_back")
        empty_text = _("Nothing of that is on record.")
