"""Who is not to be mailed at once now, so that what waits for their morning is no fault."""

from zoneinfo import ZoneInfo

from fleet.models import ReminderChoice


def of_the_awake(rows, at, *, within):
    """Return the notices whose person was in no quiet hours now, nor so long ago."""
    notices = list(rows)
    choices = ReminderChoice.objects.in_bulk({row.person_id for row in notices})
    return [
        row
        for row in notices
        if not any(
            _is_quiet(choices.get(row.person_id) or ReminderChoice(), _hour(row, moment))
            for moment in (at, at - within)
        )
    ]


def _hour(row, moment):
    site = row.person.home_site or row.site
    return moment.astimezone(ZoneInfo(site.zone)).hour


def _is_quiet(choice, hour):
    begin, end = choice.quiet_from, choice.quiet_until
    if begin <= end:
        return begin <= hour < end
    return hour >= begin or hour < end
