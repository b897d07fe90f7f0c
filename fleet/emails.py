"""The mails that people get, in text and HTML, with links. No writes, no sending."""

from functools import lru_cache
from hashlib import sha256
from textwrap import wrap
from urllib.parse import urlsplit

from django.conf import settings
from django.core.mail import EmailMessage, EmailMultiAlternatives
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from fleet.reminding import Stage
from shared.sealing import statement_of

KEY_DIGITS = 16
SECTIONS_KEPT = 64


def digest(person, pages, day, signs=()):
    """Return the one mail of a day, from the pages of ``fleet.morning.standing``.

    ``signs`` say how the service itself is.
    """
    context = {"day": day, "signs": signs, "pages": [_page(page) for page in pages]}
    return mail_to(person, _subject(pages), "digest", context, f"digest.{day}.{person.pk.hex}")


def _page(page):
    url = link(reverse("site-home", args=[page.site.slug]))
    return {"page": page, "url": url, "sections": [_told(one) for one in page.sections]}


@lru_cache(SECTIONS_KEPT)
def _told(section):
    """Return a section in text and HTML: the same one goes to many of a site's people."""
    rows = [(row, link(row.cart.get_absolute_url())) for row in section.shown]
    title = _counted(section.stage, section.carts)
    context = {"section": {"title": title, "rows": rows, "more": section.more}}
    return {
        name: render_to_string(f"fleet/_mail_section.{name}", context) for name in ("txt", "html")
    }


def _subject(pages):
    if not pages:
        return _("Carts: nothing stands, and how the service is")
    counts = {}
    for page in pages:
        for section in page.sections:
            counts[section.stage] = counts.get(section.stage, 0) + section.carts
    place = place_of([page.site for page in pages])
    listed = ", ".join(_counted(stage, count) for stage, count in counts.items())
    return _("Carts at %(place)s: %(listed)s") % {"place": place, "listed": listed}


def place_of(sites):
    """Return the first site in words, and how many more there are."""
    others = len(sites) - 1
    if not others:
        return sites[0].name
    place = ngettext(
        "%(site)s and %(count)s more site", "%(site)s and %(count)s more sites", others
    )
    return place % {"site": sites[0].name, "count": others}


def _counted(stage, count):
    words = {
        Stage.STOPPED: ngettext("%(count)s stopped", "%(count)s stopped", count),
        Stage.TAGGED: ngettext("%(count)s tagged", "%(count)s tagged", count),
        Stage.LATE: ngettext("%(count)s late", "%(count)s late", count),
        Stage.DUE: ngettext("%(count)s due", "%(count)s due", count),
        Stage.OPEN: ngettext("%(count)s opened", "%(count)s opened", count),
    }
    return words[stage] % {"count": count}


def checkpoints(site, rows):
    """Return the mail of the checkpoints of a site that one person is owed, in plain text.

    Its body stays ASCII, and so as it is on every way: the site is named by its slug there.
    """
    kept = [(row.checkpoint, statement_of(row.checkpoint).text) for row in rows]
    context = {
        "site": site,
        "kept": kept,
        "keys": sorted({" ".join(wrap(one.key[:KEY_DIGITS], 4)) for one, _text in kept}),
        "url": link(reverse("seal", args=[site.slug])),
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


def link(path):
    return f"{settings.FLEET_URL}{path}"


def mail_to(person, subject, name, context, key):
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
