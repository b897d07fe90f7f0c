"""Whether the mails that are owed go out."""

from datetime import timedelta

from django.db.models import F, Q
from django.db.models.functions import Coalesce
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from fleet.actions.claims import WAITING
from fleet.doctor import ages, seal
from fleet.doctor.sign import trouble, well
from fleet.models import CheckpointMail, Digest, Notice
from shared.models import LastDone

What = LastDone.What
# judgement: half an hour is a coffee, not yet a shift
WAITS_LONG = timedelta(minutes=30)
# the day's work is handed out by then
DIGEST_IS_LATE = timedelta(hours=2)
# dead ones are told for a week; the rows stay
DEAD_TOLD_FOR = timedelta(days=7)
# one killed worker may make one or two; more means the server breaks off
DOUBTFUL_A_DAY = 3
BEGAN = {Notice: F("made_at"), Digest: F("planned_at"), CheckpointMail: F("checkpoint__made_at")}


def waiting(at):
    """The longest wait of a mail that could have gone out, digests apart."""
    waits = [wait for wait in (_notices_wait(at), _checkpoints_wait(at)) if wait is not None]
    if not waits:
        return well(_("Nothing waits."))
    said = _("The oldest waits %(age)s past when it could go.") % {"age": ages.said(max(waits))}
    if max(waits) > WAITS_LONG:
        return trouble(said, _("See whether the sweep goes on and the mail server answers."))
    return well(said)


def _notices_wait(at):
    # what waits at a site that is behind waits for the restore to be recorded
    rows = _waiting_at(Notice, at).exclude(site_id__in=seal.sites_behind()).filter(at_once=True)
    return _longest(rows, at)


def _checkpoints_wait(at):
    rows = _waiting_at(CheckpointMail, at).exclude(checkpoint__site_id__in=seal.sites_behind())
    return _longest(rows, at)


def _waiting_at(model, at):
    rows = model.objects.filter(WAITING[model]).annotate(could_go=_could_go(model))
    return rows.filter(could_go__lte=at)


def _could_go(model):
    return Coalesce("next_try_at", BEGAN[model])


def _longest(rows, at):
    first = rows.order_by("could_go").values_list("could_go", flat=True).first()
    return first and at - first


def digests(at):
    rows = Digest.objects.filter(WAITING[Digest])
    late = rows.filter(planned_at__lt=at - DIGEST_IS_LATE).count()
    if late:
        said = ngettext(
            "%(count)s daily mail is not out two hours after its morning.",
            "%(count)s daily mails are not out two hours after their morning.",
            late,
        )
        todo = _("See whether the mail server answers; the log names each one that failed.")
        return trouble(said % {"count": late}, todo)
    return well(_("The daily mails whose hour has come are out."))


def dead(at):
    count = sum(_lately(model, at).filter(is_dead=True).count() for model in BEGAN)
    if count:
        said = ngettext(
            "%(count)s mail of the last week could not be sent, and is tried no more.",
            "%(count)s mails of the last week could not be sent, and are tried no more.",
            count,
        )
        todo = _("Put the person's address right; the log says what the mail server answered.")
        return trouble(said % {"count": count}, todo)
    return well(_("None in the last week."))


def _lately(model, at):
    return model.objects.annotate(began=BEGAN[model]).filter(began__gt=at - DEAD_TOLD_FOR)


def server(at):
    if ages.is_newer(What.MAIL_NOT_REACHED, What.MAIL_REACHED):
        row = ages.last(What.MAIL_NOT_REACHED)
        said = _("The mail server was not reached: %(fault)s") % {
            "fault": row.said.get("fault", "")
        }
        return trouble(said, _("Look at FLEET_SMTP and the mail server; what waits goes out then."))
    age = ages.age_of(What.MAIL_REACHED, at)
    if age is None:
        return well(_("No mail was handed over yet."))
    return well(_("Last reached %(ago)s.") % {"ago": ages.ago(age)})


def doubtful(at):
    since = Q(sending_at__gt=at - ages.DAY, doubtful__gt=0)
    count = sum(model.objects.filter(since).count() for model in BEGAN)
    said = ngettext(
        "%(count)s mail of the last day may have come twice.",
        "%(count)s mails of the last day may have come twice.",
        count,
    ) % {"count": count}
    if count > DOUBTFUL_A_DAY:
        todo = _("The mail server breaks off at the end of mails: see its log and timeouts.")
        return trouble(said, todo)
    return well(said)
