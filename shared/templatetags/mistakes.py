"""The mistakes of a form, for a template."""

from django import template

from shared.mistakes import mistakes_of

register = template.Library()


@register.filter
def mistakes(form):
    """Return what the form finds wrong, in the order of its fields; nothing for one not sent."""
    order = ["", *(form[name].auto_id for name in form.fields)]
    return sorted(mistakes_of(form), key=lambda one: order.index(one[0]))
