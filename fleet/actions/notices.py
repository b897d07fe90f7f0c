"""Writes what is owed to whom, once for each person, thing and stage; mails what cannot wait."""

import logging
from collections import defaultdict

from django.db import transaction
from django.db.models import Q
from django.utils.translation import gettext as _

from fleet import emails_at_once
from fleet.actions import claims
from fleet.calls import Call, calls_at, still_calls
from fleet.doctor.clocks import is_believed
from fleet.due import state_on
from fleet.models import Notice
from fleet.reminding import BEGAN_WITHIN, Stage, quiet_people, rechecks_at
from shared.trials import kill_point

log = logging.getLogger(__name__)

BATCH_ROWS = 500
TOLD_AT_ONCE = {
    Stage.TAGGED,
    Stage.ABOVE,
    Stage.MOVING,
    Stage.RUNS_ON,
    Stage.TWO_ROUNDS,
    Stage.DOUBTED,
}
# more than these for one person go as one mail
MOST_APART = 5
# each is claimed alone: a claim of thousands would outlast the worker
MOST_TOGETHER = 300
STAGE_OF_DATE = {
    "stops_on": Stage.STOPPED,
    "late_on": Stage.LATE,
    "due_on": Stage.DUE,
    "opens_on": Stage.OPEN,
}
DATE_OF_STAGE = {stage: name for name, stage in STAGE_OF_DATE.items()}


def make(days, *, at) -> int:
    """Write the notices that every site newly owes; return how many."""
    return sum(_make_at(days, here, at) for here in days.values())


def _make_at(days, here, at):
    try:
        fresh = _not_made_yet(here, [*_crossed(here), *calls_at(days, here, at)])
        rows = [_notice(here, call, person_id, at) for call, person_id in fresh]
        with transaction.atomic():
            Notice.objects.bulk_create(rows, ignore_conflicts=True, batch_size=BATCH_ROWS)
            kill_point("before-tick-commit")
        kill_point("after-tick-commit")
    except Exception:  # one site's rows never keep the others' people waiting
        log.exception("no notices are made for the site %s", here.site.slug)
        return 0
    return len(rows)


def _crossed(here):
    """Yield a call for the stage that each recheck stands in, if that began lately."""
    after = max(here.today - BEGAN_WITHIN, here.told_until)
    lately = Q()
    for name in STAGE_OF_DATE:
        lately |= Q(**{f"{name}__gt": after, f"{name}__lte": here.today})
    found = rechecks_at(here.site).filter(lately)
    for row in found.values_list("id", "cart_id", *STAGE_OF_DATE, named=True).order_by("id"):
        stage = Stage(state_on(row, here.today))
        day = getattr(row, DATE_OF_STAGE[stage])
        if day > after:
            yield Call(stage, row.cart_id, row.id, day)
            if stage == Stage.STOPPED:
                yield Call(Stage.ABOVE, row.cart_id, row.id, day)


def _not_made_yet(here, calls):
    """Return (call, person id) without a row, in one order so that workers cannot deadlock."""
    made = _made([call.about for call in calls])
    told = {stage: {row.person_id for row in here.told(stage)} for stage in Stage}
    missing = [
        (call, person_id)
        for call in calls
        for person_id in told[call.stage] - made.get((call.about, call.stage), set())
    ]
    return sorted(missing, key=lambda pair: (pair[1], pair[0].about, pair[0].stage))


def _made(about):
    """Return {(about, stage): ids of the people who have a notice of it}."""
    made = defaultdict(set)
    for start in range(0, len(about), BATCH_ROWS):
        rows = Notice.objects.filter(about__in=about[start : start + BATCH_ROWS])
        for thing, stage, person_id in rows.values_list("about", "stage", "person_id").order_by():
            made[thing, stage].add(person_id)
    return made


def _notice(here, call, person_id, at):
    return Notice(
        site=here.site,
        person_id=person_id,
        cart_id=call.cart_id,
        about=call.about,
        stage=call.stage,
        day=call.day,
        made_at=at,
        at_once=call.stage in TOLD_AT_ONCE,
    )


def drop_old(*, at):
    """Give up on notices that no mail has carried for as long as they are owed.

    None is too old by a clock that is not to be believed.
    """
    if not is_believed(at):
        return
    old = Notice.objects.filter(made_at__lt=at - BEGAN_WITHIN)
    reason = _("too old: what stands is in the daily mail")
    claims.drop(old.filter(at_once=True), reason, is_dead=True)
    claims.drop(old, reason)


def send_at_once(days, post, *, at):
    """Mail the notices that cannot wait for the morning; see claims.send_each on crashes.

    Those of a site that is not among ``days`` wait, and those to people in their quiet hours.
    """

    def act(held, post, *, at):
        return _send(held, days, post, at)

    def together(notice):
        return _others(notice, days, at)

    rows = Notice.objects.filter(at_once=True, site_id__in=days)
    awake = rows.exclude(person_id__in=quiet_people(days, at))
    return claims.send_each(awake, act, post, at=at, together=together)


def _others(notice, days, at):
    """Return what goes in one mail with a notice: all that waits if it is much.

    What those above are told of always goes together.
    """
    waiting = claims.like(notice, at).filter(at_once=True, site_id__in=days)
    found = waiting.filter(person=notice.person_id).exclude(pk=notice.pk)
    stages = dict(found.values_list("pk", "stage")[: MOST_TOGETHER - 1])
    if len(stages) + 1 > MOST_APART:
        return list(stages)
    if notice.stage == Stage.ABOVE:
        return [pk for pk, stage in stages.items() if stage == Stage.ABOVE]
    return []


def _send(held, days, post, at):
    """Mail some notices to their person, of which the person is still told and that are so."""
    # a later sweep may have written them: what they are about was not known before
    known_by = max(at, *(notice.made_at for notice in held))
    owed = [notice for notice in held if _still_owed(notice, days[notice.site_id], known_by)]
    if not owed:
        return "dropped"
    claims.send(owed, emails_at_once.mail_of(owed, days, known_by), post, at=at)
    claims.settle(owed, sent_at=at)
    return "sent"


def _still_owed(notice, here, at):
    """Whether a notice is to be mailed still; drop it if not."""
    row = Notice.objects.filter(pk=notice.pk)
    if all(told.person_id != notice.person_id for told in here.told(notice.stage)):
        claims.drop(row, _("the person is not told of it any more"))
        return False
    if not still_calls(notice, here, at):
        claims.drop(row, _("over before it was mailed"))
        return False
    return True
