"""The mails that people get, in text and HTML, with links. No writes, no sending."""

import html
from functools import cache, lru_cache
from hashlib import sha256
from textwrap import wrap
from urllib.parse import urlsplit
from uuid import UUID

from django.conf import settings
from django.core.mail import EmailMessage, EmailMultiAlternatives
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils.safestring import mark_safe
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from fleet.reminding import Stage
from fleet.shared_mail import SharedMail, SharedText
from shared.sealing import statement_of

KEY_DIGITS = 16
SECTIONS_KEPT, TEXTS_KEPT = 64, 16
WORDS = ("cart", "url", "work", "when", "limit")
NO_CART = UUID(int=0)
KINDS = ("txt", "html")


def digest(person, pages, day, signs=()):
    """Return the one mail of a day, from the pages of ``fleet.morning.Mornings``.

    ``signs`` say how the service itself is.
    """
    shared = _shared(tuple(pages), day, tuple(signs))
    headers = _headers(f"digest.{day}.{person.pk.hex}")
    return SharedMail(shared, _subject(tuple(pages)), person.email, headers)


@lru_cache(TEXTS_KEPT)
def _shared(pages, day, signs):
    """Return the text of a day's mail: the same one goes to those of a site who are told alike."""
    context = {"day": day, "signs": signs, "pages": [_page(page) for page in pages]}
    context["home"] = settings.FLEET_URL
    return SharedText(*(render_to_string(f"fleet/mail_digest.{name}", context) for name in KINDS))


def _page(page):
    url = link(reverse("site-home", args=[page.site.slug]))
    return {
        "page": page,
        "url": url,
        "sections": [_told(one, page.site.slug) for one in page.sections],
    }


@lru_cache(SECTIONS_KEPT)
def _told(section, slug):
    """Return a section in text and HTML: the same one goes to many of a site's people."""
    context = {"title": _counted(section.stage, section.carts), "more": section.more}
    around = _around_a_cart(slug)
    rows = [_words(row, around) for row in section.shown]
    texts = {"txt": _joined("txt", rows), "html": mark_safe(_joined("html", map(_safe, rows)))}
    return {name: _section(name, {**context, "rows": rows}) for name, rows in texts.items()}


def _section(name, context):
    return render_to_string(f"fleet/_mail_section.{name}", {"section": context})


def _words(row, around):
    before, after = around
    url = f"{before}{row.cart_id}{after}"
    return {"cart": row.cart, "url": url, "work": row.work, "when": row.when, "limit": row.limit}


def _around_a_cart(slug):
    """Return what is before and after the id in the addresses of a site's carts."""
    before, _pk, after = link(reverse("cart-detail", args=[slug, NO_CART])).partition(str(NO_CART))
    return before, after


def _joined(name, rows):
    return "".join(_form(name, bool(row["limit"])).format_map(row) for row in rows)


def _safe(row):
    return {name: html.escape(words) for name, words in row.items()}


@cache
def _form(name, has_limit):
    """Return a row's template with a place for each of its words: rendered once, not for each."""
    words = {word: f"{{{word}}}" for word in WORDS}
    words["limit"] = words["limit"] if has_limit else ""
    return render_to_string(f"fleet/_mail_row.{name}", {"row": words})


@lru_cache(TEXTS_KEPT)
def _subject(pages):
    return " ".join(_told_in_short(pages).split())


def _told_in_short(pages):
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
