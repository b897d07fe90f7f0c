"""Who surveys a site, what they looked at, and what they are given to check by."""

import logging
import re
from textwrap import wrap

from django.db.models import F, Max, OuterRef, Q, Subquery

from fleet.models import Bundle, Cart
from shared import keys
from shared.models import Membership, PageSeen, Person, Role, SurveyorLink

log = logging.getLogger(__name__)
ID = re.compile(r"[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}")
GROUP_CHARS = 4


def surveyors_of(site, viewer):
    """Return the surveyors of a site, with their newest link and their last look here."""
    looks = PageSeen.objects.filter(site=site, person=OuterRef("person")).order_by()
    links = SurveyorLink.objects.filter(person=OuterRef("person")).order_by("-pk")
    rows = Membership.objects.visible_to(viewer).filter(site=site, role=Role.SURVEYOR)
    return (
        rows.select_related("site", "person")
        .annotate(
            last_look=Subquery(looks.values("person").annotate(at=Max("at")).values("at")),
            link_at=Subquery(links.values("made_at")[:1]),
            link_withdrawn_at=Subquery(links.values("withdrawn_at")[:1]),
        )
        .order_by(F("to_day").desc(), "person__name")
    )


def people_of(site):
    """Return everybody who surveys the site or looked at it as its surveyor."""
    now = Q(memberships__site=site, memberships__role=Role.SURVEYOR)
    looked = PageSeen.objects.filter(site=site).order_by().values("person")
    return Person.objects.filter(now | Q(pk__in=looked)).distinct()


def looks_at(site, viewer):
    """Return what was looked at, newest first."""
    return PageSeen.objects.visible_to(viewer).filter(site=site).select_related("person")


def carts_in(addresses, site):
    """Return id as text -> number of each cart of the site that the addresses name."""
    ids = {found for address in addresses for found in ID.findall(address)}
    rows = Cart.objects.filter(pk__in=ids, site=site).values_list("pk", "number")
    return {str(pk): number for pk, number in rows}


def newest_bundle(site, viewer):
    """Return the bundle that was finished last, None without one."""
    done = Bundle.objects.visible_to(viewer).filter(site=site, state=Bundle.State.DONE)
    return done.order_by("-ended_at", "-pk").first()


def key_shown():
    """Return the public key in groups to read and write down, empty where it cannot be read."""
    try:
        return " ".join(wrap(keys.public_hex(), GROUP_CHARS))
    except keys.KeyUnusable:
        log.exception("The key of the checkpoints cannot be used")
        return ""
