"""Whether the mails that are owed go out."""

from datetime import timedelta

from django.db.models import F, Q
from django.db.models.functions import Coalesce
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from fleet.actions.claims import WAITING
from fleet.doctor import ages, quiet_hours, seal
from fleet.doctor.sign import trouble, well
from fleet.models import CheckpointMail, Digest, Notice
from shared.models import LastDone

What = LastDone.What
# judgement: half an hour is a coffee, not yet a shift
WAITS_LONG = timedelta(minutes=30)
# the day's work is handed out by then
DIGEST_IS_LATE = timedelta(hours=2)
# one killed worker may make one or two; more means the server breaks off
DOUBTFUL_A_DAY = 3
BEGAN = {Notice: F("made_at"), Digest: F("planned_at"), CheckpointMail: F("checkpoint__made_at")}
SITE = {Notice: "site", Digest: "person__home_site", CheckpointMail: "checkpoint__site"}


def waiting(at):
    """The longest wait of a mail that could have gone out; the daily ones are told apart."""
    waits = [at - since for since in (_notices_since(at), _checkpoints_since(at)) if since]
    if not waits:
        return well(_("Nothing waits."))
    said = _("The oldest waits %(age)s past when it could go.") % {"age": ages.said(max(waits))}
    if max(waits) > WAITS_LONG:
        return trouble(said, _("See whether the sweep goes on and the mail server answers."))
    return well(said)


def _notices_since(at):
    # what waits at a site that is behind waits for the restore to be recorded
    rows = _could_go(Notice, at).exclude(site_id__in=seal.sites_behind()).filter(at_once=True)
    awake = quiet_hours.of_the_awake(rows, at, within=WAITS_LONG)
    return min((row.could_go for row in awake), default=None)


def _checkpoints_since(at):
    rows = _could_go(CheckpointMail, at).exclude(checkpoint__site_id__in=seal.sites_behind())
    return rows.values_list("could_go", flat=True).first()


def _could_go(model, at):
    """Return waiting rows whose time has come, the longest wait first."""
    rows = model.objects.filter(WAITING[model])
    since = rows.annotate(could_go=Coalesce("next_try_at", BEGAN[model]))
    return since.filter(could_go__lte=at).order_by("could_go")


def digests(at):
    late = Digest.objects.filter(WAITING[Digest], planned_at__lt=at - DIGEST_IS_LATE).count()
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
    sites = [slug for model in SITE for slug in _sites_of_dead(model)]
    if sites:
        said = ngettext(
            "%(count)s mail could not be sent, and is tried no more.",
            "%(count)s mails could not be sent, and are tried no more.",
            len(sites),
        )
        todo = _("The page Mails of the site says why, and lets them be tried again.")
        return trouble(said % {"count": len(sites)}, todo, sorted({slug for slug in sites if slug}))
    return well(_("None."))


def _sites_of_dead(model):
    return model.objects.filter(is_dead=True).values_list(f"{SITE[model]}__slug", flat=True)


def server(at):
    if ages.is_newer(What.MAIL_NOT_REACHED, What.MAIL_REACHED):
        fault = {"fault": ages.last(What.MAIL_NOT_REACHED).said.get("fault", "")}
        said = _("The mail server was not reached: %(fault)s") % fault
        return trouble(said, _("Look at FLEET_SMTP and the mail server; what waits goes out then."))
    age = ages.age_of(What.MAIL_REACHED, at)
    if age is None:
        return well(_("No mail was handed over yet."))
    return well(_("Last reached %(ago)s.") % {"ago": ages.ago(age)})


def doubtful(at):
    day_before = at - ages.DAY
    lately = Q(sending_at__gt=day_before) | Q(sent_at__gt=day_before)
    count = sum(model.objects.filter(lately, doubtful__gt=0).count() for model in BEGAN)
    said = ngettext(
        "%(count)s mail of the last day may have come twice.",
        "%(count)s mails of the last day may have come twice.",
        count,
    ) % {"count": count}
    if count > DOUBTFUL_A_DAY:
        todo = _("The mail server breaks off at the end of mails: see its log and timeouts.")
        return trouble(said, todo)
    return well(said)
