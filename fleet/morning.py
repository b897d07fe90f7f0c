"""What stands at a person's sites on a day, for the digest. No writes."""

from dataclasses import dataclass
from uuid import UUID

from django.db.models import Q
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from fleet.calls import open_tags
from fleet.due import DISTANCE, HOURS, state_on
from fleet.kinds import register
from fleet.reminding import Stage, rechecks_at
from shared.models import Site
from shared.units import shown

ROWS_SHOWN = 40
ORDER = (Stage.STOPPED, Stage.TAGGED, Stage.LATE, Stage.DUE, Stage.OPEN)


@dataclass(frozen=True)
class Row:
    """One line of the mail: a recheck of a cart, or a tag on it."""

    about: UUID
    cart: object
    work: str
    when: str
    limit: str = ""


@dataclass(frozen=True)
class Section:
    """What stands in one stage at a site."""

    stage: Stage
    rows: list[Row]

    @property
    def shown(self):
        return self.rows[:ROWS_SHOWN]

    @property
    def more(self):
        return len(self.rows) - len(self.shown)

    @property
    def carts(self):
        return len({row.cart.pk for row in self.rows})


@dataclass(frozen=True)
class SitePage:
    """What stands at one site, the gravest first."""

    site: Site
    role: str
    sections: list[Section]

    @property
    def abouts(self):
        return {row.about for section in self.sections for row in section.rows}


def standing(memberships, days, owed) -> list[SitePage]:
    """Return a page for each site of the person where something stands, of what the role is told.

    Newly opened work is listed once: while a notice of it, among ``owed``, waits.
    """
    opened = {notice.about for notice in owed if notice.stage == Stage.OPEN}
    pages = [_page(row, days[row.site_id], opened) for row in memberships]
    return [page for page in pages if page.sections]


def _page(membership, here, opened):
    rows = {stage: [] for stage in ORDER}
    for recheck in _rechecks(here, opened):
        rows[Stage(state_on(recheck, here.today))].append(_recheck_row(recheck, here.site))
    rows[Stage.TAGGED] = _tag_rows(here)
    told = [stage for stage in ORDER if rows[stage] and here.is_told(membership, stage)]
    sections = [Section(stage, rows[stage]) for stage in told]
    return SitePage(here.site, membership.get_role_display(), sections)


def _rechecks(here, opened):
    reached = Q(due_on__lte=here.today) | Q(late_on__lte=here.today)
    reached |= Q(stops_on__lte=here.today) | Q(pk__in=opened, opens_on__lte=here.today)
    found = rechecks_at(here.site).filter(reached).select_related("cart__site")
    return found.order_by("due_on", "cart__number", "id")


def _tag_rows(here):
    tags = open_tags().filter(cart__site=here.site, cart__is_tagged=True)
    return [
        Row(tag.pk, tag.cart, tag.reason, _since(here.site.day(tag.done_at)))
        for tag in tags.select_related("cart__site").order_by("done_at", "id")
    ]


def _since(day):
    return _("since %(day)s") % {"day": date_format(day, "j M Y")}


def _recheck_row(recheck, site):
    due = recheck.due_on and _("due %(day)s") % {"day": date_format(recheck.due_on, "j M Y")}
    return Row(recheck.pk, recheck.cart, work_of(recheck), due or "", limit_of(recheck, site))


def work_of(recheck):
    """Return the work in words: the kind and what on the cart it is about."""
    kind = register.kinds.get(recheck.kind_code)
    title = str(kind.title) if kind else recheck.kind_code
    return f"{title}: {recheck.subject}" if recheck.subject else title


def limit_of(recheck, site):
    """Return the meter figure that governs, as the cart's meter shows it; empty by calendar."""
    cart = recheck.cart
    if recheck.governs == HOURS and (figure := cart.hours_at(recheck.due_hours)) is not None:
        limit = f"{figure:,.1f} h"
        past = _past(recheck.due_hours, cart.hours_life, "hours", site)
    elif (
        recheck.governs == DISTANCE and (figure := cart.distance_at(recheck.due_metres)) is not None
    ):
        limit = f"{figure:,.1f} {cart.distance_unit}"
        past = _past(recheck.due_metres, cart.metres_life, "distance", site)
    else:
        return ""
    said = _("at %(limit)s") % {"limit": limit}
    if recheck.is_forecast or recheck.is_estimated:
        said = _("%(said)s, estimated") % {"said": said}
    return f"{said}, {past}" if past else said


def _past(limit, life, quantity, site):
    """Return how far the last reading is past the limit, in the site's units."""
    if life <= limit:
        return ""
    return _("%(far)s past") % {"far": shown(life - limit, quantity, site.units)}
