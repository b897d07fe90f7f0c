"""Whether the sweep goes on: all reminders, checkpoints and jobs hang on it."""

from datetime import timedelta

from django.conf import settings
from django.utils.translation import gettext as _

from fleet.doctor import ages
from fleet.doctor.sign import trouble, well
from shared.models import LastDone

What = LastDone.What
# five sweeps in a row that did not come
SWEEP_IS_OLD = 5 * timedelta(seconds=max(60, settings.SWEEP_EVERY_S))
# one of the two may start anew meanwhile; the other one sweeps
ONE_WAY_IS_OLD = 2 * SWEEP_IS_OLD


def newest(at):
    age = ages.age_of(What.SWEEP, at)
    if age is None:
        return _never(at, SWEEP_IS_OLD)
    if age > SWEEP_IS_OLD:
        return trouble(
            _("The last sweep was %(ago)s.") % {"ago": ages.ago(age)},
            _("Start the worker, beat and the sweeper again; the log says why they ended."),
        )
    return well(_("The last sweep was %(ago)s.") % {"ago": ages.ago(age)})


def by_beat(at):
    return _one_way(
        at,
        What.SWEEP_BY_BEAT,
        _("Sweeps go on, but none comes by beat and the worker."),
        _("Look whether the broker answers, and start the worker and beat again."),
    )


def by_loop(at):
    return _one_way(
        at,
        What.SWEEP_BY_LOOP,
        _("Sweeps go on, but none comes by the loop that needs no broker."),
        _("Start manage.py sweep --loop again."),
    )


def _one_way(at, what, said, todo):
    age = ages.age_of(what, at)
    # no sweep at all is a sign of its own
    if not _goes_on(at):
        return None
    if age is None and not ages.is_older(ages.service_age(at), ONE_WAY_IS_OLD):
        return well(_("Not yet."))
    if age is None or age > ONE_WAY_IS_OLD:
        return trouble(said, todo)
    return well(_("Last %(ago)s.") % {"ago": ages.ago(age)})


def _goes_on(at):
    age = ages.age_of(What.SWEEP, at)
    return age is not None and age <= SWEEP_IS_OLD


def _never(at, after):
    if ages.is_older(ages.service_age(at), after):
        todo = _("Start the worker, beat and the sweeper.")
        return trouble(_("No sweep was ever made."), todo)
    return well(_("Not yet: nothing is recorded, or only just."))
