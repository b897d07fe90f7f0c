"""The carts kept out of use, and those handed back."""

from functools import cached_property

import django_tables2 as tables
from django.urls import reverse
from django.utils.html import format_html
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fleet.lateness import arrival_of, is_written_late
from fleet.tellings import first_tellings
from shared.dates import shown_moment
from shared.tables import BaseTable


class OpenTagTable(BaseTable):
    """``may_release``: the viewer may hand these back; ``links``: may open the cart's page."""

    caption = gettext_lazy("Kept out of use")
    csv_name = "tags"

    cart = tables.Column(
        verbose_name=gettext_lazy("Cart"), accessor="cart__number", order_by="cart__number"
    )
    done_at = tables.Column(verbose_name=gettext_lazy("Since"))
    reason = tables.Column(verbose_name=gettext_lazy("What is wrong"), orderable=False)
    is_critical = tables.BooleanColumn(verbose_name=gettext_lazy("Critical"))
    by = tables.Column(verbose_name=gettext_lazy("Tagged by"), accessor="by__name")
    key_place = tables.Column(verbose_name=gettext_lazy("Key"), orderable=False)
    acts = tables.Column(
        verbose_name=gettext_lazy("Go to"),
        empty_values=(),
        orderable=False,
        exclude_from_export=True,
    )

    class Meta(BaseTable.Meta):
        empty_text = gettext_lazy("No cart is tagged.")
        order_by = "done_at"

    def __init__(self, *args, site, may_release, links, **kwargs):
        super().__init__(*args, **kwargs)
        self.site, self.may_release, self.links = site, may_release, links

    @cached_property
    def first(self):
        """The first tellings of the tags on this page that were told again."""
        return first_tellings([row.record for row in self.paginated_rows])

    def render_cart(self, record, value):
        shown = format_html('<span class="mark mark-tagged">{}</span>', value)
        if not self.links:
            return shown
        url = reverse("cart-detail", args=[self.site.slug, record.cart_id])
        return format_html('<a href="{}">{}</a>', url, shown)

    def value_cart(self, value):
        return value

    def render_done_at(self, value, record):
        shown = shown_moment(value, self.site.zone, self.site.date_order)
        came_at = arrival_of(self.first.get(record.pk, record))
        if not is_written_late(record.done_at, came_at, record.brought_in):
            return shown
        taken_in = shown_moment(came_at, self.site.zone, self.site.date_order)
        late = _("written late: taken in %(at)s") % {"at": taken_in}
        return format_html("{}<br><small>{}</small>", shown, late)

    def value_done_at(self, value):
        return value.isoformat()

    def render_is_critical(self, value):
        return _("yes") if value else _("no")

    def value_is_critical(self, value):
        return value

    def render_acts(self, record):
        return tag_links(record, self.site, self.may_release)


def tag_links(tag, site, may_release):
    """Return the buttons to the card of a tag and, for who may, to its hand-back."""
    card = format_html(
        '<a class="button" href="{}">{}</a>',
        reverse("tag-card", args=[site.slug, tag.pk]),
        _("Card"),
    )
    if not may_release:
        return card
    url = reverse("hand-back", args=[site.slug, tag.pk])
    return format_html(
        '<span>{} <a class="button" href="{}">{}</a></span>', card, url, _("Hand back")
    )


class CartTagTable(OpenTagTable):
    """The tags that stand on one cart; ``links``: the viewer may open a tag's pages."""

    caption = gettext_lazy("Tags on it")
    csv_name = ""

    class Meta(OpenTagTable.Meta):
        orderable = False
        exclude = ("cart",)
        sequence = ("reason", "...")

    def __init__(self, *args, links, **kwargs):
        hidden = self._meta.exclude if links else (*self._meta.exclude, "acts")
        super().__init__(*args, links=links, exclude=hidden, **kwargs)


class HandBackTable(BaseTable):
    caption = gettext_lazy("Handed back lately")
    csv_name = ""

    cart = tables.Column(verbose_name=gettext_lazy("Cart"), accessor="cart__number")
    done_at = tables.Column(verbose_name=gettext_lazy("Handed back"))
    tag = tables.Column(verbose_name=gettext_lazy("What was wrong"), accessor="tag__reason")
    done = tables.Column(verbose_name=gettext_lazy("What was done"))
    repaired_by = tables.Column(
        verbose_name=gettext_lazy("Who did it"),
        accessor="repaired_by__name",
        default=gettext_lazy("somebody not in the list"),
    )
    by = tables.Column(verbose_name=gettext_lazy("Handed back by"), accessor="by__name")

    class Meta(BaseTable.Meta):
        orderable = False
        empty_text = gettext_lazy("No cart was handed back yet.")

    def __init__(self, *args, site, **kwargs):
        super().__init__(*args, **kwargs)
        self.site = site

    def render_done_at(self, value):
        return shown_moment(value, self.site.zone, self.site.date_order)

    def render_by(self, record, value):
        if not record.is_same_person:
            return value
        return format_html(
            "<span>{} <small>{}</small></span>", value, _("released by the same person")
        )
