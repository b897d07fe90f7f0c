"""Every way in which a mail server says no, falls silent or breaks off (RFC 5321, RFC 3463)."""

from collections import Counter
from dataclasses import dataclass
from datetime import timedelta

from django.test import override_settings

from deploy.faults import mailing, yard
from deploy.faults.listed import fault
from deploy.faults.sink import CLOSE, DOWN, OK
from fleet import post
from fleet.actions import reminders
from fleet.models import Notice
from shared import clock
from shared.models import LastDone

SENT, WAITS, DEAD, DOUBT, UNREACHABLE = "sent", "waits", "dead", "doubt", "unreachable"
SAID_CHARS = 40


@dataclass(frozen=True)
class Case:
    """What the server does, to one recipient of three or to all, and how that row must end."""

    mode: str
    ends: str
    is_to_all: bool = False
    with_login: bool = False

    @property
    def words(self):
        """The server's own words, which must be kept; empty where it says none."""
        reply = self.mode.partition(" ")[2]
        return reply[:SAID_CHARS] if reply[:3].isdigit() else ""


CASES = (
    *(
        Case(mode, WAITS)
        for mode in (
            "rcpt 450 4.2.1 mailbox busy",
            "rcpt 451 4.7.1 greylisted, come again",
            "rcpt 451 4.3.0 error here",
            "rcpt 452 4.2.2 mailbox full",
            "rcpt 455 4.5.0 cannot take parameters",
            "rcpt 421 4.3.2 closing down",
            "rcpt 550 5.7.1 not allowed",
            "rcpt 550 relaying denied",
            "rcpt 552 5.2.2 mailbox full for good",
            "rcpt 554 5.7.1 sender is listed",
            "rcpt what is that",
            "rcpt cut",
            "data 451 4.3.0 not now",
            "data 421 4.3.2 closing down",
            "end 450 4.2.0 mailbox busy",
            "end 451 4.7.1 greylisted after all",
            "end 452 4.3.1 no room on the disk",
            "end 421 4.4.2 took too long",
            "end 554 5.7.1 looks like spam",
        )
    ),
    *(
        Case(mode, DEAD)
        for mode in (
            "rcpt 550 5.1.1 no such mailbox",
            "rcpt 550 no such user",
            "rcpt 550 5.2.1 mailbox disabled",
            "rcpt 551 5.1.6 has moved",
            "rcpt 553 5.1.3 bad address",
            "rcpt 554 no mail here",
            "rcpt 556 5.1.10 takes no mail",
            "5xx",
            "data 554 5.5.1 no valid recipients",
            "end 552 5.3.4 too big",
            "end 554 5.6.0 content refused",
            "end 550 5.1.1 no such mailbox after all",
        )
    ),
    *(Case(mode, DOUBT) for mode in ("taken cut", "end cut", "data cut", "taken what is that")),
    *(Case(mode, SENT) for mode in (CLOSE, "rcpt 251 5.1.6 will forward")),
    *(
        Case(mode, UNREACHABLE, is_to_all=True)
        for mode in (
            DOWN,
            "connect cut",
            "connect 421 4.3.2 too busy",
            "connect 554 5.3.2 no service",
            "connect what is that",
            "mail 451 4.3.0 not now",
            "mail 530 5.7.0 login wanted",
            "mail 550 5.7.1 sender refused",
        )
    ),
    Case("mail cut", WAITS, is_to_all=True),
    Case("ehlo 502 5.5.1 not known", SENT, is_to_all=True),
    *(
        Case(mode, UNREACHABLE, is_to_all=True, with_login=True)
        for mode in ("auth 535 5.7.8 wrong password", "auth 454 4.7.0 not now")
    ),
)
APART = timedelta(minutes=8)
NEXT_TRY = timedelta(minutes=2)


@fault("F21", "SMTPCODES", "refusals, greylisting, full mailboxes, cuts", short=100, long=100)
def codes(world, count, tally):
    """What befalls one recipient is told of all such cases in one sweep, the rest one by one."""
    cases = CASES[:count]
    alone = [case for case in cases if not case.is_to_all]
    many = mailing.begin(world, carts=1, mechanics=len(alone) + 1)
    few = yard.make(
        clock.now(), carts=len(cases) - len(alone), slug="few", order=False, password=None
    )
    at = clock.now()
    reminders.sweep(at)
    told = _try_each_recipient(world, many, alone, at + APART)
    for case, cart in zip([case for case in cases if case.is_to_all], few.carts, strict=True):
        at += 2 * APART
        told.append((case, _try(world, few, case, cart, at)))
    for case, wrong in told:
        for what, found in wrong.items():
            tally.want(not found, f"{case.mode}: {what}: {found}")
    tally.exactly(cases=(len(told), min(count, len(CASES))))
    for what in ("wrong_class", "words_lost", "others_blocked", "wrong_after"):
        tally.exactly(**{what: (sum(bool(wrong.get(what)) for _case, wrong in told), 0)})
    tally.say(**Counter(case.ends for case in cases))


def _try_each_recipient(world, place, cases, at):
    """Return (case, what was wrong with it) where each recipient has a case of their own."""
    *victims, _last = place.mechanics
    mailing.tag(place, place.carts[0], at)
    rules = {one.email: case.mode for one, case in zip(victims, cases, strict=True)}
    world.sink.behave(OK, **rules)
    _sweep(at)
    rows = {row.person_id: row for row in Notice.objects.filter(site=place.site)}
    others = [rows[person.pk] for person in place.people if person not in victims]
    blocked = [class_of(row) for row in others if class_of(row) != SENT]
    told = [
        (case, {**_wrong_with([rows[one.pk]], case), "others_blocked": blocked})
        for one, case in zip(victims, cases, strict=True)
    ]
    world.sink.behave(OK)
    _sweep(at + NEXT_TRY)
    for (case, wrong), one in zip(told, victims, strict=True):
        wrong["wrong_after"] = _wrong_after([rows[one.pk]], case)
    return told


def _try(world, place, case, cart, at):
    """Return what was wrong with a case that befalls all."""
    tag = mailing.tag(place, cart, at)
    world.sink.behave(case.mode)
    _sweep(at, case.with_login)
    rows = list(Notice.objects.filter(about=tag.pk))
    wrong = _wrong_with(rows, case)
    world.sink.behave(OK)
    _sweep(at + NEXT_TRY, case.with_login)
    return wrong | {"wrong_after": _wrong_after(rows, case)}


def _wrong_with(rows, case):
    classes = {class_of(row) for row in rows}
    lost = [said for said in (_said_of(row, case) for row in rows) if case.words not in said]
    return {"wrong_class": classes != {case.ends} and classes, "words_lost": lost}


def _sweep(at, with_login=False):
    # each case stands for another hour
    post.broken_at_s.clear()
    login = {"EMAIL_HOST_USER": "fleet", "EMAIL_HOST_PASSWORD": "word"} if with_login else {}
    with override_settings(**login):
        reminders.sweep(at)


def class_of(row):
    """Return in which class a notice stands after a try."""
    if row.sent_at:
        return SENT
    if row.dropped:
        return DEAD if row.is_dead else row.dropped
    if row.claimed_at:
        return "still claimed"
    if row.next_try_at is None:
        return UNREACHABLE if row.attempts == 0 else "no next try"
    return DOUBT if row.sending_at else WAITS


def _said_of(row, case):
    if case.ends == SENT:
        return case.words
    if case.ends == UNREACHABLE:
        return LastDone.objects.get(what=LastDone.What.MAIL_NOT_REACHED).said["fault"]
    return row.dropped if case.ends == DEAD else row.last_fault


def _wrong_after(mine, case):
    """Return what is wrong once the server took all again: dead stays dead, the rest is sent."""
    wanted = {DEAD: DEAD}.get(case.ends, SENT)
    wrong = []
    for row in Notice.objects.filter(pk__in=[row.pk for row in mine]):
        if class_of(row) != wanted:
            wrong.append(class_of(row))
        if row.doubtful != (case.ends == DOUBT):
            wrong.append(f"counted as doubtful {row.doubtful} times")
    return wrong
