"""What the worker runs: read the clock, call one action."""

from celery import shared_task

from fleet.actions import reminders
from shared import clock


@shared_task(name="fleet.sweep")
def sweep():
    """Write and mail the reminders that are owed now; may run twice or at once."""
    reminders.sweep(clock.now())
