import django_tables2 as tables
from django.urls import reverse
from django.utils.html import format_html
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from lifts.tables_wrenches import OfSite


class WaitingTable(OfSite):
    """Joints seen that no manager decided on yet."""

    cart = tables.Column(linkify=lambda value: value.get_absolute_url(), verbose_name=_("Cart"))
    name = tables.Column(verbose_name=_("Joint"))
    family = tables.Column(accessor="get_family_display", verbose_name=_("Family"))
    wheel = tables.Column(accessor="get_wheel_display", verbose_name=_("Wheel"))
    count = tables.Column(verbose_name=_("How many"))
    thread = tables.Column(verbose_name=_("Thread"))
    note = tables.Column(verbose_name=_("Note"))
    seen = tables.Column(accessor="done_at", verbose_name=_("Seen"))
    by = tables.Column(verbose_name=_("By"))
    decide = tables.Column(
        empty_values=(), orderable=False, accessor="pk", verbose_name=_("Decide")
    )

    csv_name = ""

    class Meta(OfSite.Meta):
        empty_text = _("No joint waits for a decision.")

    def render_seen(self, value):
        return self.moment(value)

    def render_decide(self, record):
        args = [self.site.slug, record.cart_id, record.pk]
        return format_html(
            '<a class="button" href="{}">{}</a> <a class="button" href="{}">{}</a>',
            reverse("joint-take-up", args=args),
            gettext("Put it on the list"),
            reverse("joint-decline", args=args),
            gettext("Leave it off"),
        )
