from django import forms
from django.utils.translation import gettext_lazy as _

from fleet.forms.cart import OrderForm

SHORT_CHECK = "short-check"


class SistersForm(OrderForm):
    """One kind of recheck for all the sister carts that are ticked."""

    reason = forms.CharField(
        max_length=300,
        label=_("Why it is ordered"),
        help_text=_("Whose sisters they are, and what they share, is said before it."),
    )

    def first_values(self):
        return {**super().first_values(), "kind_code": SHORT_CHECK}
