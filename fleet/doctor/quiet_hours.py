"""Who is not to be mailed at once now, so that what waits for their morning is no fault."""

from fleet.reminding import quiet_people, site_days


def of_the_awake(rows, at, *, within):
    """Return the notices whose person was in no quiet hours now, nor so long ago."""
    notices = list(rows)
    days = site_days(at) if notices else {}
    people = {row.person_id for row in notices}
    quiet = {pk for moment in (at, at - within) for pk in quiet_people(days, people, moment)}
    return [row for row in notices if row.person_id not in quiet]
