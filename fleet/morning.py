"""What stands at a person's sites on a day, for the digest. No writes."""

from dataclasses import dataclass
from functools import lru_cache
from uuid import UUID

from django.utils.formats import date_format
from django.utils.translation import gettext as _

from fleet.calls import open_tags
from fleet.due import DISTANCE, HOURS, state_on
from fleet.kinds import register
from fleet.models import Recheck
from fleet.reminding import Stage, rechecks_at
from shared.models import Site
from shared.units import shown

ROWS_SHOWN = 40
SITES_KEPT = 16
ORDER = (Stage.STOPPED, Stage.TAGGED, Stage.LATE, Stage.DUE, Stage.OPEN)


@dataclass(frozen=True)
class Row:
    """One line of the mail: a recheck of a cart, or a tag on it."""

    about: UUID
    cart: object
    work: str
    when: str
    limit: str = ""


@dataclass(frozen=True, eq=False)
class Section:
    """What stands in one stage at a site: the first rows, and of all what they are about."""

    stage: Stage
    shown: list[Row]
    abouts: frozenset[UUID]
    carts: int

    @property
    def more(self):
        return len(self.abouts) - len(self.shown)


@dataclass(frozen=True)
class SitePage:
    """What stands at one site, the gravest first."""

    site: Site
    role: str
    sections: list[Section]

    @property
    def abouts(self):
        return frozenset().union(*(section.abouts for section in self.sections))


class Mornings:
    """What stands at sites as the mails of a batch go out.

    A site is looked at once while mails to its people follow each other; few are kept in mind.
    """

    def __init__(self, days):
        self.look = lru_cache(SITES_KEPT)(lambda site_id: _Look(days[site_id]))

    def pages(self, memberships, opened) -> list[SitePage]:
        """Return a page for each site of the person where something stands that they are told.

        Newly opened work is listed once: while it is among ``opened``.
        """
        pages = [self.look(row.site_id).page(row, opened) for row in memberships]
        return [page for page in pages if page.sections]


class _Look:
    """All that stands at one site, and of what was newly opened what is asked for."""

    def __init__(self, here):
        self.here, self.stood = here, {stage: [] for stage in ORDER}
        for row in _rechecks(here):
            self.stood[state_on(row, here.today)].append(row)
        self.made = {}

    def page(self, membership, opened):
        told = [stage for stage in ORDER if self.here.is_told(membership, stage)]
        sections = [self.section(stage, opened) for stage in told]
        role = membership.get_role_display()
        return SitePage(self.here.site, role, [one for one in sections if one.abouts])

    def section(self, stage, opened):
        rows = self.stood[stage]
        if stage == Stage.OPEN:
            rows = [row for row in rows if row.id in opened]
        key = (stage, tuple(row.id for row in rows))
        if key not in self.made:
            make = self._of_tags if stage == Stage.TAGGED else self._of_rechecks
            self.made[key] = make(stage, rows)
        return self.made[key]

    def _of_rechecks(self, stage, rows):
        shown = _in_full([row.id for row in rows[:ROWS_SHOWN]], self.here.site)
        return _section(stage, shown, [(row.id, row.cart_id) for row in rows])

    def _of_tags(self, stage, _rows):
        rows = _tag_rows(self.here)
        return _section(stage, rows[:ROWS_SHOWN], [(row.about, row.cart.pk) for row in rows])


def _section(stage, shown, pairs):
    carts = {cart_id for _about, cart_id in pairs}
    return Section(stage, shown, frozenset(about for about, _cart in pairs), len(carts))


def _rechecks(here):
    """Return the ids and dates of all that has opened, in the order of the mail."""
    found = rechecks_at(here.site).filter(opens_on__lte=here.today)
    dates = ("opens_on", "due_on", "late_on", "stops_on")
    rows = found.order_by("due_on", "cart__number", "id")
    return rows.values_list("id", "cart_id", *dates, named=True)


def _in_full(ids, site):
    rows = Recheck.objects.select_related("cart__site").in_bulk(ids)
    # one that was projected away since the look is left out
    return [_recheck_row(rows[pk], site) for pk in ids if pk in rows]


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
