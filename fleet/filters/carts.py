from django import forms
from django.db.models import Case, Q, Value, When
from django.utils.translation import gettext_lazy as _

from fleet.models import Cart, UseClass

MARKS = {"lifted": _("lifted"), "plain": _("not lifted"), "tagged": _("tagged")}
MARKS |= {"unproven": _("unproven")}
OF_MARK = {
    "lifted": {"is_lifted": True},
    "plain": {"is_lifted": False},
    "tagged": {"is_tagged": True},
    "unproven": {"is_unproven": True},
}


class CartFilter(forms.Form):
    """Which carts are listed; those that left only when they are asked for."""

    number = forms.CharField(required=False, max_length=20, label=_("Number or serial"))
    mark = forms.ChoiceField(required=False, label=_("Lift"))
    condition = forms.ChoiceField(required=False, label=_("Condition"))
    use_class = forms.ChoiceField(required=False, label=_("Use"))

    def __init__(self, data):
        super().__init__(data)
        self.fields["mark"].choices = [("", _("all")), *MARKS.items()]
        self.fields["condition"].choices = [("", _("in the fleet")), *Cart.Condition.choices]
        self.fields["use_class"].choices = [("", _("all")), *UseClass.choices]

    @property
    def chosen(self):
        self.is_valid()
        return {name: value for name, value in self.cleaned_data.items() if value}

    def applied(self, carts):
        said = self.chosen
        if number := said.get("number"):
            carts = _found(carts, number)
        if mark := said.get("mark"):
            carts = carts.filter(**OF_MARK[mark])
        if use_class := said.get("use_class"):
            carts = carts.filter(use_class=use_class)
        condition = said.get("condition")
        return carts.filter(condition=condition) if condition else carts.in_fleet()


def _found(carts, typed):
    """Narrow to what was typed, the cart of that very number or serial first."""
    is_it = Q(number__iexact=typed) | Q(serial__iexact=typed)
    near = Q(number__icontains=typed) | Q(serial__icontains=typed)
    its_place = Case(When(is_it, then=Value(0)), default=Value(1))
    return carts.filter(near).order_by(its_place, "number", "id")
