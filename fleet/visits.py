"""A mechanic's visit at a cart: what is called for there, and what its page carries."""

from dataclasses import dataclass, field
from datetime import datetime
from uuid import UUID

from django.core import signing
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from fleet.clocks import content_of
from fleet.default_rules import book_from_json
from fleet.due import AHEAD, DUE, LATE, STOPPED, state_on
from fleet.kinds import Cut, Kind, register
from fleet.models import Cart, Recheck, Round, RuleBook
from fleet.rulebook import CLOSED_STARTS
from shared.models import JournalHead, Site, new_id
from shared.viewer import Viewer

SETTLING, RECURRING = "settling", "recurring"
OF_SUBJECT = "{subject}"
SALT = "round page"


class OtherCart(signing.BadSignature):
    """What a page carried belongs to another cart."""


@dataclass(frozen=True)
class Called:
    """A recheck that may be done at a cart today, with its pieces of work and its state."""

    recheck: Recheck
    kind: Kind
    content: frozenset[str]
    state: str

    @property
    def is_due(self):
        return self.state in (DUE, LATE, STOPPED)


@dataclass(frozen=True)
class Visit:
    """One visit, fixed when its page is opened: sent twice, it is the same round.

    ``pieces`` of work are asked for; ``first`` are the codes of the parts of the round
    that are due, or open where none is due, ``others`` those that may be done as well.
    ``done_at`` is when it was done, where its page says another time than its opening,
    ``journal_at`` when the site's last entry then had arrived: ahead, once the clock was.
    """

    cart: Cart
    site: Site
    viewer: Viewer
    id: UUID
    by_id: UUID
    opened_at: datetime
    pieces: frozenset[str]
    first: tuple[str, ...]
    others: tuple[str, ...]
    stage: str
    identified: str = Round.Identified.LISTED
    corrects: UUID | None = None
    done_at: datetime | None = None
    journal_at: datetime | None = None
    answers: dict = field(default_factory=dict, init=False, repr=False, compare=False)

    def once(self, ask):
        """Return ``ask(visit)``, asked once for all parts that want it."""
        if ask not in self.answers:
            self.answers[ask] = ask(self)
        return self.answers[ask]

    @property
    def at(self):
        """The moment of which the kit is read: a new edition does not change an open page."""
        return self.opened_at

    @property
    def cut(self):
        """What had happened when it was done, as known when its page was opened."""
        return Cut(min(self.done_at or self.opened_at, self.opened_at), self.known_by)

    @property
    def opening(self):
        """What had happened, and was known, when its page was opened."""
        return Cut(self.opened_at, self.known_by)

    @property
    def known_by(self):
        return max(self.opened_at, self.journal_at or self.opened_at)

    @property
    def token(self):
        """What the page's form carries of the visit, signed."""
        said = {
            "id": str(self.id),
            "cart": str(self.cart.pk),
            "by": str(self.by_id),
            "opened_at": self.opened_at.isoformat(),
            "journal_at": self.journal_at and self.journal_at.isoformat(),
            "pieces": sorted(self.pieces),
            "first": self.first,
            "others": self.others,
            "stage": self.stage,
            "identified": self.identified,
            "corrects": self.corrects and str(self.corrects),
        }
        return signing.dumps(said, salt=SALT, compress=True)


def visit_carried(token, cart, viewer) -> Visit:
    """Return the visit that a page carried; raises signing.BadSignature for a spoilt one."""
    said = signing.loads(token, salt=SALT)
    if said["cart"] != str(cart.pk):
        raise OtherCart(_("The page was opened for another cart."))
    return Visit(
        cart=cart,
        site=cart.site,
        viewer=viewer,
        id=UUID(said["id"]),
        by_id=UUID(said["by"]),
        opened_at=datetime.fromisoformat(said["opened_at"]),
        # a page of an older release says nothing of it
        journal_at=said.get("journal_at") and datetime.fromisoformat(said["journal_at"]),
        pieces=frozenset(said["pieces"]),
        first=tuple(said["first"]),
        others=tuple(said["others"]),
        stage=said["stage"],
        identified=said["identified"],
        corrects=said["corrects"] and UUID(said["corrects"]),
    )


def new_visit(cart, viewer, called, *, whole=False, **more) -> Visit:
    """Return a visit that begins now; ``whole`` asks for every piece of work there is."""
    pieces = frozenset().union(*(one.content for one in called))
    due = [one for one in called if one.is_due]
    first = _wanted_of(due or called, cart)
    others = {*_parts_of(called), *(register.parts if whole else ())} - first
    return Visit(
        cart=cart,
        site=cart.site,
        viewer=viewer,
        id=new_id(),
        by_id=viewer.person.pk,
        opened_at=viewer.at,
        journal_at=_journal_at(cart.site_id),
        pieces=pieces | every_piece() if whole else pieces,
        first=_in_order(cart, first),
        others=_in_order(cart, others),
        stage=stage_of(cart, viewer.at),
        **more,
    )


def visit_again(row, viewer, held) -> Visit:
    """Return a visit that tells a round again, of which the parts ``held`` are recorded.

    Nothing must be done again; what the round closed may be closed by it still.
    """
    cart = row.cart
    closed = Recheck.objects.closed_by(row)
    contents = {code: kind.content for code, kind in register.kinds.items()}
    pieces = [content_of(contents, one.kind_code, one.subject) for one in closed]
    pieces += [one.content for one in called_at(cart, viewer.at)]
    codes = set(_in_order(cart, set(register.parts))) | set(held)
    stages = (told.fact.stage for told in held.values() if hasattr(told.fact, "stage"))
    return Visit(
        cart=cart,
        site=cart.site,
        viewer=viewer,
        id=new_id(),
        by_id=viewer.person.pk,
        opened_at=viewer.at,
        journal_at=_journal_at(cart.site_id),
        pieces=every_piece().union(*pieces),
        first=(),
        others=tuple(part.code for part in register.parts_in_order() if part.code in codes),
        stage=next(stages, None) or stage_of(cart, viewer.at),
        identified=row.identified,
        corrects=row.pk,
    )


def _journal_at(site_id):
    heads = JournalHead.objects.filter(pk=site_id)
    return heads.values_list("last_received_at", flat=True).first()


def called_at(cart, at) -> list[Called]:
    """Return what may be done at the cart today, the soonest due first."""
    today = cart.site.day(at)
    contents = {code: kind.content for code, kind in register.kinds.items()}
    found = [
        Called(
            recheck,
            register.kinds[recheck.kind_code],
            content_of(contents, recheck.kind_code, recheck.subject),
            state_on(recheck, today),
        )
        for recheck in cart.rechecks.active().order_by("due_on", "id")
    ]
    return [one for one in found if one.state != AHEAD]


def minutes_of(called) -> int:
    """Return about how long it takes: work that a larger check holds is counted once."""
    minutes, done = 0, frozenset()
    for one in sorted(called, key=lambda one: (-len(one.content), one.kind.code)):
        if not one.content <= done:
            minutes += one.kind.minutes
            done |= one.content
    return minutes


def every_piece() -> frozenset[str]:
    """Return every piece of work that is not about one joint or wheel alone."""
    pieces = frozenset().union(*(kind.content for kind in register.kinds.values()))
    return frozenset(piece for piece in pieces if OF_SUBJECT not in piece)


def stage_of(cart, at) -> str:
    """Return "settling" until the checks that wait for use after a fitting are closed."""
    return SETTLING if cart.rechecks.active().filter(_settling(cart, at)).exists() else RECURRING


def stage_then(cart, at) -> str:
    """Return the stage that a cart was in at a moment, as far as is known now."""
    ran = cart.rechecks.filter(Q(ended="") | Q(ended_at__gt=at), anchor_on__lte=cart.site.day(at))
    return SETTLING if ran.filter(_settling(cart, at)).exists() else RECURRING


def rules_at(site_id, at):
    book = RuleBook.objects.filter(site_id=site_id, in_force_from__lte=at).last()
    return book_from_json(book.rules).rules if book else ()


def book_at(site_id, at):
    """Return the rule book in force at a site at a moment; before its first, the first."""
    books = RuleBook.objects.filter(site_id=site_id)
    return book_from_json((books.filter(in_force_from__lte=at).last() or books.first()).rules)


def _settling(cart, at):
    """The rechecks that wait for use after a fitting, and what they start after."""
    rules = rules_at(cart.site_id, at)
    settling = {rule.kind for rule in rules if rule.settles}
    starts = {start for rule in rules if rule.settles for start in rule.starts}
    settling |= {start.removeprefix(CLOSED_STARTS) for start in starts}
    return Q(kind_code__in=settling)


def _parts_of(called):
    return {code for one in called for code in one.kind.parts}


def _wanted_of(called, cart):
    """Return the parts that must be done or put off: of gathered work only what it lacks."""
    parts = register.parts.values()
    lacking = {part.code for part in parts if part.pieces & set(cart.missing) or not cart.missing}
    whole = [one for one in called if not one.kind.gathers]
    gathered = [one for one in called if one.kind.gathers]
    return _parts_of(whole) | (_parts_of(gathered) & lacking)


def _in_order(cart, codes):
    parts = register.parts_in_order()
    return tuple(part.code for part in parts if part.code in codes and part.is_for(cart))
