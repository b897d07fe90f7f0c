"""Days and moments in a template, as the site writes them."""

from django import template

from shared.dates import shown_day, shown_moment, shown_second

register = template.Library()


@register.filter
def day_at(day, site):
    """Return the day in the site's order; nothing for no day."""
    return "" if day is None else shown_day(day, site.date_order)


@register.filter
def day_of(at, site):
    """Return the day of a moment by the site's clock."""
    return day_at(site.day(at), site)


@register.filter
def moment_at(at, site):
    """Return the moment by the site's clock; nothing for no moment."""
    return "" if at is None else shown_moment(at, site.zone, site.date_order)


@register.filter
def moment_to_second(at, site):
    """Return the moment by the site's clock, to the second where it is not a whole minute."""
    return shown_second(at, site.zone, site.date_order)
