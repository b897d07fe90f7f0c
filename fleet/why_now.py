"""Says of a piece of work what it is, why now and when, in the site's words."""

from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from fleet.due import LATE, STOPPED, state_on
from fleet.kinds import register
from fleet.reach import DAYS, DISTANCE, HOURS
from shared.models import Site

DAY, DAY_OF_YEAR = {Site.DateOrder.MDY: "D M j"}, {Site.DateOrder.MDY: "M j, Y"}


def day_said(day, today, site):
    """Return a day near today with its weekday: "Wed 1 Apr"; in another year with that."""
    if day.year == today.year:
        return date_format(day, DAY.get(site.date_order, "D j M"))
    return date_format(day, DAY_OF_YEAR.get(site.date_order, "j M Y"))


def span_said(first, last, today, site):
    """Return the days between two in short: "29 Mar to 4 Apr", "Mar 2 to 5, 2027"."""
    if first.year != last.year:
        ends = [day_said(day, today, site) for day in (first, last)]
    else:
        ends = _ends(first, last, is_year_said=last.year != today.year, site=site)
    return _("%(first)s to %(last)s") % {"first": ends[0], "last": ends[1]}


def _ends(first, last, *, is_year_said, site):
    """Return the ends of a span inside one year; its month and year are said once."""
    is_one_month = first.month == last.month
    if site.date_order == Site.DateOrder.MDY:
        start, end = "M j", "j" if is_one_month else "M j"
        year = ", Y"
    else:
        start, end = "j" if is_one_month else "j M", "j M"
        year = " Y"
    return date_format(first, start), date_format(last, end + (year if is_year_said else ""))


def what(work):
    """Return the kind's title and what on the cart it is about."""
    kind = register.kinds.get(work.kind_code)
    title = str(kind.title) if kind else work.kind_code
    return f"{title}: {work.subject}" if work.subject else title


def why_now(work, today, site):
    """Return which limit governs and how far it is: "at 437.0 h, meter 438.2 h: 1.2 h past"."""
    said = [_by_meter(work) or _by_calendar(work, today)]
    if work.is_forecast:
        said.append(_forecast(work, today, site))
    if work.is_estimated:
        said.append(_("estimated"))
    return "; ".join(words for words in said if words)


def _by_meter(work):
    if work.governs == HOURS and work.hours_at_due is not None:
        return _at_figure(work.hours_at_due, work.hours_shown, "h")
    if work.governs == DISTANCE and work.distance_at_due is not None:
        return _at_figure(work.distance_at_due, work.distance_shown, work.distance_unit)
    return ""


def _at_figure(limit, meter, unit):
    run = meter - limit
    far = _("%(far)s past") if run >= 0 else _("%(far)s left")
    return _("at %(limit)s, meter %(meter)s: %(far)s") % {
        "limit": f"{limit:,.1f} {unit}",
        "meter": f"{meter:,.1f} {unit}",
        "far": far % {"far": f"{abs(run):,.1f} {unit}"},
    }


def _by_calendar(work, today):
    if work.due_on is None:
        return _("waits for a meter reading")
    if work.governs != DAYS and work.is_forecast:
        return ""
    days = (work.due_on - today).days
    if days == 0:
        return _("due today")
    if days < 0:
        return ngettext("%(days)s day past", "%(days)s days past", -days) % {"days": -days}
    return ngettext("%(days)s day left", "%(days)s days left", days) % {"days": days}


def _forecast(work, today, site):
    if work.earliest_on is None:
        return _("forecast")
    first = day_said(work.earliest_on, today, site)
    if work.latest_on is None:
        return _("forecast, from %(first)s") % {"first": first}
    if work.latest_on == work.earliest_on:
        return _("forecast, %(first)s") % {"first": first}
    return _("forecast, %(span)s") % {
        "span": span_said(work.earliest_on, work.latest_on, today, site)
    }


def when(work, today, site):
    """Return the due day, and since when it is late or stopped."""
    due = day_said(work.due_on, today, site) if work.due_on else _("not known yet")
    state = state_on(work, today)
    if state == STOPPED:
        since = _("stopped since %(day)s") % {"day": day_said(work.stops_on, today, site)}
    elif state == LATE:
        since = _("late since %(day)s") % {"day": day_said(work.late_on, today, site)}
    else:
        since = ""
    return due, since
