import django_tables2 as tables
from django.urls import reverse
from django.utils.html import format_html
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from lifts.label_coverage import WORDS
from shared.dates import shown_day, shown_moment
from shared.tables import BaseTable


class LabelTable(BaseTable):
    """How the label of each lifted cart stands, by the last look at it."""

    number = tables.Column(verbose_name=gettext_lazy("Cart"))
    word = tables.Column(verbose_name=gettext_lazy("Label"))
    condition = tables.Column(verbose_name=gettext_lazy("As found"))
    looked_at = tables.Column(verbose_name=gettext_lazy("Last look"))
    seat_photo = tables.Column(verbose_name=gettext_lazy("Photo from the seat"))
    close_photo = tables.Column(verbose_name=gettext_lazy("Photo close up"))
    due_on = tables.Column(verbose_name=gettext_lazy("Next look due"))

    caption = gettext_lazy("Warning labels of the lifted carts")
    csv_name = "labels"

    class Meta(BaseTable.Meta):
        empty_text = gettext_lazy("No cart of this site bears a lift.")

    def __init__(self, *args, site, **kwargs):
        self.site = site
        super().__init__(*args, **kwargs)

    def render_number(self, value, record):
        url = reverse("cart-detail", args=[self.site.slug, record.cart_id])
        return format_html('<a href="{}">{}</a>', url, value)

    def value_number(self, value):
        return value

    def render_word(self, value):
        return WORDS[value]

    def value_word(self, value):
        return value

    def render_looked_at(self, value):
        return shown_moment(value, self.site.zone, self.site.date_order)

    def value_looked_at(self, value):
        return value.isoformat()

    def render_seat_photo(self, value):
        return _("yes") if value else _("no")

    render_close_photo = render_seat_photo

    def render_due_on(self, value):
        return shown_day(value, self.site.date_order)

    def value_due_on(self, value):
        return value.isoformat()
