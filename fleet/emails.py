"""The mails that people get, in text and HTML, with links. No writes, no sending."""

from hashlib import sha256
from textwrap import wrap
from urllib.parse import urlsplit
from zoneinfo import ZoneInfo

from django.conf import settings
from django.core.mail import EmailMessage, EmailMultiAlternatives
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from fleet.calls import doubt_of, rises, rounds_met
from fleet.kinds import Cut
from fleet.models import Reading, Tag
from fleet.reminding import Stage
from fleet.standing import facts_of
from shared.models import Site
from shared.sealing import statement_of
from shared.units import shown

KEY_DIGITS = 16


def digest(person, pages, day):
    """Return the one mail of a day, from the pages of ``fleet.morning.standing``."""
    context = {
        "day": day,
        "pages": [
            {
                "page": page,
                "url": _link(reverse("site-home", args=[page.site.slug])),
                "sections": [_section(section) for section in page.sections],
            }
            for page in pages
        ],
    }
    return _mail(person, _subject(pages), "digest", context, f"digest.{day}.{person.pk.hex}")


def _section(section):
    rows = [(row, _link(row.cart.get_absolute_url())) for row in section.shown]
    return {"title": _counted(section.stage, section.carts), "rows": rows, "more": section.more}


def _subject(pages):
    counts = {}
    for page in pages:
        for section in page.sections:
            counts[section.stage] = counts.get(section.stage, 0) + section.carts
    others = len(pages) - 1
    place = pages[0].site.name
    if others:
        place = ngettext(
            "%(site)s and %(count)s more site", "%(site)s and %(count)s more sites", others
        )
        place %= {"site": pages[0].site.name, "count": others}
    listed = ", ".join(_counted(stage, count) for stage, count in counts.items())
    return _("Carts at %(place)s: %(listed)s") % {"place": place, "listed": listed}


def _counted(stage, count):
    words = {
        Stage.STOPPED: ngettext("%(count)s stopped", "%(count)s stopped", count),
        Stage.TAGGED: ngettext("%(count)s tagged", "%(count)s tagged", count),
        Stage.LATE: ngettext("%(count)s late", "%(count)s late", count),
        Stage.DUE: ngettext("%(count)s due", "%(count)s due", count),
        Stage.OPEN: ngettext("%(count)s opened", "%(count)s opened", count),
    }
    return words[stage] % {"count": count}


def at_once(notice, here, at):
    """Return the mail of one notice that cannot wait for the morning."""
    if notice.stage == Stage.DOUBTED:
        subject, lines, path = _doubted(notice, at)
    else:
        subject, lines, path = _of_cart(notice, here.site, at)
    context = {"lines": lines, "url": _link(path)}
    subject = _("%(what)s at %(site)s") % {"what": subject, "site": here.site.name}
    key = f"{notice.stage.replace(' ', '-')}.{notice.about.hex}.{notice.person_id.hex}"
    return _mail(notice.person, subject, "at_once", {**context, "subject": subject}, key)


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
    facts = facts_of([notice.cart_id], Cut(at, at))[notice.cart_id]
    risen = [rise for rise in rises(facts, Site.objects.in_bulk()) if rise.at == reading.done_at]
    lines = [_more(rise, site) for rise in risen]
    when = _("Read on %(when)s.") % {"when": _when(reading.done_at, site)}
    return _("Stopped, and its meter still rises"), [
        _("A recheck of this cart is past its stop limit: the cart must not run."),
        *lines,
        when,
    ]


def _more(rise, site):
    return _("%(more)s more than at the reading before, of %(when)s.") % {
        "more": shown(rise.more, rise.measure, site.units),
        "when": _when(rise.before_at, site),
    }


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


SAY = {
    Stage.TAGGED: _say_tagged,
    Stage.MOVING: _say_moving,
    Stage.TWO_ROUNDS: _say_two_rounds,
}


def checkpoints(site, rows):
    """Return the mail of the checkpoints of a site that one person is owed, in plain text.

    Its body stays ASCII, and so as it is on every way: the site is named by its slug there.
    """
    kept = [(row.checkpoint, statement_of(row.checkpoint).text) for row in rows]
    context = {
        "site": site,
        "kept": kept,
        "keys": sorted({" ".join(wrap(one.key[:KEY_DIGITS], 4)) for one, _text in kept}),
        "url": _link(reverse("seal", args=[site.slug])),
        "home": settings.FLEET_URL,
    }
    subject = _("Keep this: checkpoint of the records of %(site)s") % {"site": site}
    together = sha256(b"".join(b"%d\n" % row.pk for row in rows)).hexdigest()
    return EmailMessage(
        " ".join(subject.split()),
        render_to_string("fleet/mail_checkpoints.txt", context),
        to=[rows[0].person.email],
        headers=_headers(f"checkpoints.{together[:32]}"),
    )


def _when(moment, site):
    """Return the moment in words, by the site's clock."""
    return date_format(moment.astimezone(ZoneInfo(site.zone)), "j M Y, H:i")


def _link(path):
    return f"{settings.FLEET_URL}{path}"


def _mail(person, subject, name, context, key):
    """Return the mail; ``key`` gives it the same Message-ID however often it is sent."""
    context = {"person": person, "home": settings.FLEET_URL, **context}
    message = EmailMultiAlternatives(
        " ".join(subject.split()),
        render_to_string(f"fleet/mail_{name}.txt", context),
        to=[person.email],
        headers=_headers(key),
    )
    message.attach_alternative(render_to_string(f"fleet/mail_{name}.html", context), "text/html")
    return message


def _headers(key):
    return {"Message-ID": f"<{key}@{_domain()}>", "Auto-Submitted": "auto-generated"}


def _domain():
    host = urlsplit(settings.FLEET_URL).hostname or ""
    return host if host and ":" not in host else "localhost"
