"""The bundles of a site, newest first."""

from zoneinfo import ZoneInfo

import django_tables2 as tables
from django.urls import reverse
from django.utils.html import format_html
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fleet.models import Bundle
from shared.dates import shown_day, shown_moment
from shared.tables import BaseTable


def state_words(bundle) -> str:
    """Return the state in a word, with how far the work is while it runs."""
    word = str(bundle.get_state_display())
    if bundle.state != Bundle.State.RUNNING:
        return word
    return _("%(state)s, %(percent)d %%") % {"state": word, "percent": bundle.progress}


def scope_words(bundle, site) -> str:
    """Return in words what of the site a bundle holds."""
    words = [_("lifted carts") if bundle.lifted_only else _("all carts")]
    if bundle.from_day:
        words.append(_("from %s") % shown_day(bundle.from_day, site.date_order))
    words.append(_("with names") if bundle.with_names else _("without names"))
    return ", ".join(words)


def file_name(bundle, site) -> str:
    """Return the name of its file: both moments by the site's clock, and what is left out."""
    words = [site.slug, _stamp(bundle.happened_by, site)]
    if bundle.known_by != bundle.happened_by:
        words.append(f"known-{_stamp(bundle.known_by, site)}")
    if bundle.from_day:
        words.append(f"from-{bundle.from_day:%Y-%m-%d}")
    scope = {"lifted": bundle.lifted_only, "names": bundle.with_names}
    return "-".join([*words, *(word for word, is_so in scope.items() if is_so)]) + ".zip"


def _stamp(at, site):
    return f"{at.astimezone(ZoneInfo(site.zone)):%Y-%m-%d-%H%M}"


class BundleTable(BaseTable):
    caption = gettext_lazy("Kept for download")
    csv_name = ""

    happened_by = tables.Column(verbose_name=gettext_lazy("Happened by"))
    known_by = tables.Column(verbose_name=gettext_lazy("Known by"))
    scope = tables.Column(
        verbose_name=gettext_lazy("Holds"), empty_values=(), accessor="pk", orderable=False
    )
    state = tables.Column(verbose_name=gettext_lazy("State"))
    asked_at = tables.Column(verbose_name=gettext_lazy("Asked for"))
    asked_by = tables.Column(verbose_name=gettext_lazy("By"), accessor="asked_by__name")
    acts = tables.Column(
        verbose_name=gettext_lazy("File"), empty_values=(), accessor="pk", orderable=False
    )

    class Meta(BaseTable.Meta):
        orderable = False
        empty_text = gettext_lazy("No bundle was made yet.")

    def __init__(self, *args, site, **kwargs):
        super().__init__(*args, **kwargs)
        self.site = site

    def render_happened_by(self, value, record):
        url = reverse("bundle-detail", args=[self.site.slug, record.pk])
        return format_html('<a href="{}">{}</a>', url, self._moment(value))

    def render_known_by(self, value):
        return self._moment(value)

    def render_scope(self, record):
        return scope_words(record, self.site)

    def render_asked_at(self, value):
        return self._moment(value)

    def render_state(self, record):
        return state_words(record)

    def render_acts(self, record):
        if record.state != Bundle.State.DONE:
            return ""
        url = reverse("bundle-file", args=[self.site.slug, record.pk])
        return format_html('<a href="{}">{}</a>', url, _("Download"))

    def _moment(self, value):
        return shown_moment(value, self.site.zone, self.site.date_order)
