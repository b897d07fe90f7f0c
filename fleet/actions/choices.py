"""What people choose to be mailed, and in which hours not at once."""

from fleet.models import ReminderChoice


def choose(person, *, without, quiet_from, quiet_until):
    """Keep what a person does without, and their quiet hours; no journal holds it."""
    chosen = {"without": sorted(without), "quiet_from": quiet_from, "quiet_until": quiet_until}
    return ReminderChoice.objects.update_or_create(person=person, defaults=chosen)[0]
