"""Finding a cart by its number, and what a manager does with a round afterwards."""

import re

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fleet.models import Cart, CartNumber
from shared.dates import shown_day

LONGEST_LIST_CHARS = 2000
REASON = {
    "max_length": 300,
    "label": gettext_lazy("Why"),
    "widget": forms.Textarea({"rows": 2}),
}


def cart_numbered(site, number, today):
    """Return the cart that carries a painted number today, None without one.

    "7" finds "007" too, where only one cart can be meant.
    """
    spans = CartNumber.objects.on(today).filter(site=site, cart__site=site)
    spans = spans.exclude(cart__condition=Cart.Condition.LEFT).select_related("cart__site")
    exact = list(spans.filter(number__iexact=number)[:2])
    plain = re.escape(number.lstrip("0"))
    found = exact or list(spans.filter(number__iregex=rf"^0*{plain}$")[:2])
    return found[0].cart if len(found) == 1 else None


class NumberForm(forms.Form):
    """A painted number; ``cart`` is the one that carries it today."""

    number = forms.CharField(
        max_length=20,
        label=gettext_lazy("Number painted on the cart"),
        widget=forms.TextInput({"autocomplete": "off", "autofocus": True}),
    )

    def __init__(self, data=None, *, site, today):
        super().__init__(data)
        self.site, self.today, self.cart = site, today, None
        self.fields["number"].widget.attrs["inputmode"] = _keys(site)

    def clean_number(self):
        number = self.cleaned_data["number"].strip()
        self.cart = cart_numbered(self.site, number, self.today)
        if self.cart is None:
            raise forms.ValidationError(self._not_found(number))
        return number

    def _not_found(self, number):
        before = CartNumber.objects.filter(
            site=self.site, number__iexact=number, to_day__isnull=False
        )
        last = before.exclude(to_day=None).order_by("to_day").last()
        if last is None:
            return _("No cart carries %(number)s here.") % {"number": number}
        said = {"number": number, "day": shown_day(last.to_day, self.site.date_order)}
        return _("No cart carries %(number)s today. One did until %(day)s.") % said


def _keys(site):
    """Return which keys a phone shows: figures alone, unless a number here has a letter."""
    lettered = Cart.objects.in_fleet().filter(site=site, number__iregex=r"[^0-9]")
    return "text" if lettered.exists() else "numeric"


class StrikeForm(forms.Form):
    """Why a round is taken back."""

    reason = forms.CharField(**REASON)


class CountersignForm(forms.Form):
    """How the manager knows that a round was done when it says so."""

    reason = forms.CharField(**REASON | {"label": gettext_lazy("How you know that it was done")})


class PlatesForm(forms.Form):
    """Which carts get plates."""

    numbers = forms.CharField(
        required=False,
        max_length=LONGEST_LIST_CHARS,
        label=gettext_lazy("Painted numbers"),
        help_text=gettext_lazy("With spaces or commas between them. Leave it empty for all."),
    )
    lifted = forms.BooleanField(required=False, label=gettext_lazy("Lifted carts only"))

    def chosen(self, carts):
        """Return those of the carts that were asked for."""
        if not self.is_valid():
            return carts.none()
        numbers = [n for n in re.split(r"[\s,;]+", self.cleaned_data["numbers"]) if n]
        carts = carts.filter(number__in=numbers) if numbers else carts
        return carts.lifted() if self.cleaned_data["lifted"] else carts
