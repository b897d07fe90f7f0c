"""What stands at a person's sites on a day, for the digest. No writes."""

from dataclasses import dataclass
from functools import cached_property, lru_cache
from uuid import UUID

from django.db.models import Case, CharField, TextField, Value, When
from django.db.models.functions import Cast
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from fleet.calls import open_tags
from fleet.crossed import STAGE_OF_DATE
from fleet.due import DISTANCE, HOURS
from fleet.kinds import register
from fleet.models import Cart, Recheck
from fleet.reminding import Stage, rechecks_at
from shared.models import Site
from shared.units import shown

ROWS_SHOWN = 40
SITES_KEPT = 16
# all that a row's words are made of
OF_CARTS = (
    *("number", "hours_life", "hours_shown", "metres_life", "distance_shown"),
    *("metres_per_shown", "distance_unit"),
)
COLUMNS = (
    *("cart_id", "kind_code", "subject", "due_on", "governs", "due_hours", "due_metres"),
    *("is_forecast", "is_estimated", *(f"cart__{name}" for name in OF_CARTS)),
)
DAYS_KEPT = 400
ORDER = (Stage.STOPPED, Stage.TAGGED, Stage.LATE, Stage.DUE, Stage.OPEN)


@dataclass(frozen=True)
class Row:
    """One line of the mail: a recheck of a cart, or a tag on it."""

    about: str
    cart_id: UUID
    cart: str
    work: str
    when: str
    limit: str = ""


@dataclass(frozen=True, eq=False)
class Section:
    """What stands in one stage at a site: the first rows, and of all what they are about."""

    stage: Stage
    shown: list[Row]
    abouts: frozenset[str]
    carts: int

    @property
    def more(self):
        return len(self.abouts) - len(self.shown)


@dataclass(frozen=True, eq=False)
class SitePage:
    """What stands at one site, the gravest first; those who are told alike share one."""

    site: Site
    role: str
    sections: list[Section]

    @cached_property
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
        for state, *row in _rechecks(here):
            self.stood[state].append(row)
        self.made, self.pages = {}, {}

    def page(self, membership, opened):
        told = tuple(stage for stage in ORDER if self.here.is_told(membership, stage))
        key = (membership.role, told, opened if Stage.OPEN in told else None)
        if key not in self.pages:
            sections = [self.section(stage, opened) for stage in told]
            role = membership.get_role_display()
            stand = [one for one in sections if one.abouts]
            self.pages[key] = SitePage(self.here.site, role, stand)
        return self.pages[key]

    def section(self, stage, opened):
        key = (stage, opened if stage == Stage.OPEN else None)
        if key not in self.made:
            make = self._of_tags if stage == Stage.TAGGED else self._of_rechecks
            self.made[key] = make(stage, opened)
        return self.made[key]

    def _of_rechecks(self, stage, opened):
        rows = self.stood[stage]
        if stage == Stage.OPEN:
            rows = [row for row in rows if row[0] in opened]
        shown = _in_full([about for about, _cart in rows[:ROWS_SHOWN]], self.here.site)
        return _section(stage, shown, rows)

    def _of_tags(self, stage, _opened):
        rows = _tag_rows(self.here)
        return _section(stage, rows[:ROWS_SHOWN], [(row.about, row.cart_id) for row in rows])


def _section(stage, shown, pairs):
    carts = {cart_id for _about, cart_id in pairs}
    return Section(stage, shown, frozenset(about for about, _cart in pairs), len(carts))


def _rechecks(here):
    """Return state, id and cart of all that has opened, in the order of the mail."""
    found = rechecks_at(here.site).filter(opens_on__lte=here.today)
    reached = [
        When(**{f"{name}__lte": here.today}, then=Value(stage.value))
        for name, stage in STAGE_OF_DATE.items()
    ]
    state = Case(*reached, output_field=CharField())
    rows = found.order_by("due_on", "cart__number", "id")
    return rows.values_list(state, as_text("id"), as_text("cart_id"))


def as_text(name):
    """Return an id as the database spells it: quicker to read and compare than a UUID."""
    return Cast(name, TextField())


def _in_full(ids, site):
    found = Recheck.objects.filter(pk__in=ids).order_by().annotate(about=as_text("id"))
    named = found.values_list("about", *COLUMNS, named=True)
    rows = {row.about: _recheck_row(row, site) for row in named}
    # one that was projected away since the look is left out
    return [rows[pk] for pk in ids if pk in rows]


def _tag_rows(here):
    tags = open_tags().filter(cart__site=here.site, cart__is_tagged=True)
    return [
        Row(
            str(tag.pk),
            tag.cart_id,
            tag.cart.number,
            tag.reason,
            _since(here.site.day(tag.done_at)),
        )
        for tag in tags.select_related("cart").order_by("done_at", "id")
    ]


def _since(day):
    return _("since %(day)s") % {"day": date_format(day, "j M Y")}


def _recheck_row(row, site):
    # most go by the calendar, and need no more of their cart than its number
    limit = limit_of(_with_its_cart(row), site) if row.governs in (HOURS, DISTANCE) else ""
    due = _due(row.due_on) if row.due_on else ""
    return Row(row.about, row.cart_id, row.cart__number, work_of(row), due, limit)


def _with_its_cart(row):
    said = row._asdict()
    meters = {name: said.pop(f"cart__{name}") for name in OF_CARTS}
    del said["about"]
    return Recheck(cart=Cart(pk=said.pop("cart_id"), **meters), **said)


@lru_cache(DAYS_KEPT)
def _due(day):
    return _("due %(day)s") % {"day": date_format(day, "j M Y")}


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
