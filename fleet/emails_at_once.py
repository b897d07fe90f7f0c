"""The mails of what cannot wait for the morning: one thing, or what came together. No writes."""

from hashlib import sha256
from zoneinfo import ZoneInfo

from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from fleet.calls import doubt_of, first_rise, rises, rounds_met
from fleet.emails import link, mail_to, place_of
from fleet.kinds import Cut
from fleet.models import Reading, Recheck, Tag
from fleet.morning import limit_of, work_of
from fleet.reminding import Stage
from fleet.standing import facts_of
from shared.models import Site
from shared.units import shown

PARTS_SHOWN = 40


def mail_of(notices, days, at):
    """Return the mail of some notices to one person."""
    parts = [_part(notice, days[notice.site_id], at) for notice in notices[:PARTS_SHOWN]]
    if len(notices) == 1:
        return _alone(notices[0], parts[0], days)
    return _together(notices, parts, days)


def _alone(notice, part, days):
    site = days[notice.site_id].site
    subject = _("%(what)s at %(site)s") % {"what": part["subject"], "site": site.name}
    context = {**part, "subject": subject}
    return mail_to(notice.person, subject, "at_once", context, _key(notice))


def _key(notice):
    return f"{notice.stage.replace(' ', '-')}.{notice.about.hex}.{notice.person_id.hex}"


def _together(notices, parts, days):
    subject = _subject(notices, days)
    context = {"subject": subject, "parts": parts, "more": len(notices) - len(parts)}
    keys = "\n".join(sorted(_key(notice) for notice in notices))
    key = f"together.{sha256(keys.encode()).hexdigest()[:32]}"
    return mail_to(notices[0].person, subject, "together", context, key)


def _subject(notices, days):
    sites = list({row.site_id: days[row.site_id].site for row in notices}.values())
    if all(row.stage == Stage.ABOVE for row in notices):
        count = len({row.cart_id for row in notices})
        what = ngettext("%(count)s cart stopped", "%(count)s carts stopped", count)
    else:
        count = len(notices)
        what = ngettext("%(count)s thing to know now", "%(count)s things to know now", count)
    return _("%(what)s at %(site)s") % {"what": what % {"count": count}, "site": place_of(sites)}


def _part(notice, here, at):
    if notice.stage == Stage.DOUBTED:
        subject, lines, path = _doubted(notice, at)
    else:
        subject, lines, path = _of_cart(notice, here.site, at)
    return {"subject": subject, "lines": lines, "url": link(path)}


def _doubted(notice, at):
    doubt = doubt_of(notice, at)
    return doubt.title, doubt.lines, doubt.url


def _of_cart(notice, site, at):
    title, lines = SAY[notice.stage](notice, site, at)
    subject = _("%(title)s: cart %(number)s") % {"title": title, "number": notice.cart.number}
    return subject, lines, notice.cart.get_absolute_url()


def _say_tagged(notice, site, at):
    tag = Tag.objects.select_related("by").get(pk=notice.about)
    return _("Tagged"), [
        tag.reason,
        _("Tagged by %(person)s, %(when)s.") % {"person": tag.by, "when": _when(tag.done_at, site)},
        _("The cart is kept out of use until it is handed back."),
    ]


def _say_moving(notice, site, at):
    reading = Reading.objects.get(pk=notice.about)
    return _("Stopped, and its meter still rises"), [
        _("A recheck of this cart is past its stop limit: the cart must not run."),
        *_risen(notice, reading, site, at),
    ]


def _risen(notice, reading, site, at):
    facts = facts_of([notice.cart_id], Cut.known_now(at))[notice.cart_id]
    risen = [rise for rise in rises(facts, Site.objects.in_bulk()) if rise.at == reading.done_at]
    when = _("Read on %(when)s.") % {"when": _when(reading.done_at, site)}
    return [*(_more(rise, site) for rise in risen), when]


def _more(rise, site):
    return _("%(more)s more than at the reading before, of %(when)s.") % {
        "more": shown(rise.more, rise.measure, site.units),
        "when": _when(rise.before_at, site),
    }


def _say_above(notice, site, at):
    return _("Stopped"), _stopped(Recheck.objects.select_related("cart").get(pk=notice.about), site)


def _stopped(recheck, site):
    limit = limit_of(recheck, site)
    work = work_of(recheck)
    since = _("Past its stop limit since %(day)s: the cart must not run.") % {
        "day": date_format(recheck.stops_on, "j M Y")
    }
    return [f"{work}, {limit}" if limit else work, since]


def _say_runs_on(notice, site, at):
    recheck = Recheck.objects.select_related("cart").get(pk=notice.about)
    reading = first_rise(recheck, site, at)
    title = _("Stopped for a week, and its meter still rises")
    return title, [*_stopped(recheck, site), *_risen(notice, reading, site, at)]


def _say_two_rounds(notice, site, at):
    lines = [
        _("%(person)s, from %(start)s to %(end)s.")
        % {
            "person": row.by,
            "start": _when(row.opened_at, site),
            "end": _when(row.done_at, site),
        }
        for row in rounds_met(notice, at)
    ]
    kept = _("Both rounds are kept, and the worst finding counts.")
    return _("Two rounds at once"), [*lines, kept]


def _when(moment, site):
    """Return the moment in words, by the site's clock."""
    return date_format(moment.astimezone(ZoneInfo(site.zone)), "j M Y, H:i")


SAY = {
    Stage.TAGGED: _say_tagged,
    Stage.ABOVE: _say_above,
    Stage.MOVING: _say_moving,
    Stage.RUNS_ON: _say_runs_on,
    Stage.TWO_ROUNDS: _say_two_rounds,
}
