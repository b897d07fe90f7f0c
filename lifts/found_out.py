"""Wrenches found out, and the looks that they spoilt, from the facts that stand within a cut.

A wrench is found out by a certificate whose errors as found are out of its tolerance, by a
quick check that fails, or by a drop or an abuse, whose error nobody knows before the next
certificate measures it. What was pulled with it since it was last known to be good is in
doubt: after that moment, up to the finding and that moment too. A finding told later than it
was made reaches on to when it was told, or to a calibration in between.
"""

from collections import defaultdict
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from uuid import UUID

from django.db.models import Q

from lifts.delivered import Arm, Delivered, delivered
from lifts.models import Look, Wrench, WrenchCertificate, WrenchCheck, WrenchEvent
from lifts.preload import Share, share_of_proof
from lifts.proof import thread_of
from lifts.racks import Lives, found_points, turned_looks, wrenches_at
from lifts.wrench_error import ErrorPoint
from lifts.wrench_standing import ABUSED, CALIBRATED, DROPPED, life_of
from shared.models import Site

PLACES = Decimal("0.0001")


@dataclass(frozen=True)
class Finding:
    """How a wrench was found out: by which fact, and what is in doubt by it.

    ``after`` is when it was last known to be good, None for never. ``points`` are its errors,
    none while nobody knows them; ``measured_by`` the certificate that measured them later.
    """

    wrench: Wrench
    fact: WrenchCertificate | WrenchCheck | WrenchEvent
    after: datetime | None
    until: datetime
    points: tuple[ErrorPoint, ...]
    measured_by: WrenchCertificate | None = None

    @property
    def id(self) -> UUID:
        return self.fact.pk

    @property
    def is_hurt(self) -> bool:
        """Whether it was dropped or overloaded, rather than measured."""
        return isinstance(self.fact, WrenchEvent)

    def holds(self, done_at) -> bool:
        return (self.after is None or self.after < done_at) and done_at <= self.until


@dataclass(frozen=True)
class FoundLook:
    """A look in doubt by a finding; ``got`` is what its nut got, None while that is not known."""

    look: Look
    finding: Finding
    got: Delivered | None

    @property
    def is_listed(self) -> bool:
        """Whether the joint is to be looked at again, as far as is known."""
        return self.got is None or self.got.breaks

    @property
    def is_told(self) -> bool:
        """Whether the records say that its wrench was later doubted."""
        return self.is_listed or self.finding.is_hurt

    @property
    def verdict(self) -> str:
        if self.got is None:
            return "not known"
        return "outside" if self.got.breaks else "inside"

    @property
    def past_proof(self) -> Share | None:
        """The share of its proof load to which the fastener was pulled, where that is past it."""
        joint = self.look.joint
        thread = self.got and self.got.nm > 0 and thread_of(joint.thread, joint.pitch_mm)
        if not thread:
            return None
        share = share_of_proof(self.got.nm, thread, joint.grade, joint.nut_factor)
        return share if share.is_above_proof() else None


def findings_of(wrench, cut) -> list[Finding]:
    """Return how a wrench was found out, the first time first."""
    return _findings(wrench.site, [wrench], cut)


def finding_called(wrench, fact_id, cut) -> Finding | None:
    return next((one for one in findings_of(wrench, cut) if one.id == fact_id), None)


def _findings(site, wrenches, cut):
    lives = Lives(site, wrenches, cut)
    return [
        _finding(wrench, place, lives)
        for wrench in wrenches
        for place, befell in enumerate(lives.stories[wrench.pk])
        if befell.found_out or befell.what in (DROPPED, ABUSED)
    ]


def _finding(wrench, place, lives):
    story = lives.stories[wrench.pk]
    befell = story[place]
    before = life_of(one for one in story[:place] if one.at < befell.at)
    later = [one for one in story[place + 1 :] if one.what == CALIBRATED]
    fact, points = lives.facts[befell.id], _errors(befell, lives)
    measured = later[0] if later and not points else None
    return Finding(
        wrench,
        fact,
        before.last_good_at,
        _until(befell, later),
        points or (_errors(measured, lives) if measured else ()),
        lives.facts[measured.id] if measured else None,
    )


def _errors(befell, lives):
    """Return what a calibration or a check measured; the one error of a check holds for all."""
    fact = lives.facts[befell.id]
    if isinstance(fact, WrenchCertificate):
        return tuple(found_points(lives.certificates[fact.pk]))
    if isinstance(fact, WrenchCheck):
        return (ErrorPoint(float(fact.set_nm), float(fact.error)),)
    return ()


def _until(befell, later):
    if befell.what == CALIBRATED:
        return befell.at
    mended = [one.at for one in later if not one.left_out]
    return max(befell.at, min([befell.known_at, *mended]))


def looks_found_out(finding, cut) -> list[FoundLook]:
    """Return every look in doubt by a finding, in order of time; one query."""
    return _found_looks([finding], cut)


def looks_found_out_at(cart_ids, cut) -> list[FoundLook]:
    """Return every look at these carts that any finding puts in doubt, in order of time.

    The queries are as many for one cart as for a hundred, of wrenches of one site.
    """
    at_carts = Q(fact__cart__in=list(cart_ids))
    used = turned_looks(cut).filter(at_carts, wrench__isnull=False).order_by()
    by_site = defaultdict(set)
    for wrench_id, site_id in used.values_list("wrench", "wrench__site").distinct():
        by_site[site_id].add(wrench_id)
    sites = Site.objects.in_bulk(by_site)
    findings = [
        finding
        for site_id, ids in by_site.items()
        for finding in _findings(sites[site_id], _called(sites[site_id], ids, cut), cut)
    ]
    return _found_looks(findings, cut, at_carts)


def _called(site, ids, cut):
    return [wrench for wrench in wrenches_at(site, cut) if wrench.pk in ids]


def _found_looks(findings, cut, only=None):
    """Return the looks in doubt by these findings; a joint without a target has no torque."""
    if not findings:
        return []
    by_wrench = defaultdict(list)
    windows = Q(pk__in=())
    for finding in findings:
        by_wrench[finding.wrench.pk].append(finding)
        begun = Q(fact__done_at__gt=finding.after) if finding.after else Q()
        windows |= begun & Q(wrench=finding.wrench.pk, fact__done_at__lte=finding.until)
    looks = turned_looks(cut).filter(windows, only or Q(), target_nm__isnull=False)
    looks = looks.select_related("fact__cart", "fact__site", "joint")
    return [
        FoundLook(look, finding, _got(look, finding))
        for look in looks.order_by("fact__done_at", "fact", "place")
        for finding in by_wrench[look.wrench_id]
        if finding.holds(look.fact.done_at)
    ]


def _got(look, finding):
    wrench, joint = finding.wrench, look.joint
    arm = Arm(wrench.length_mm, wrench.adapter_mm, look.adapter_deg)
    try:
        return delivered(finding.points, look.target_nm, joint.low_nm, joint.high_nm, arm)
    except ValueError:
        return None  # no error is known, or two at one torque


def found_out_rows(cart_ids, cut):
    """Yield a row of plain values for each look at these carts that was later doubted.

    Torques in N.m, the error as a share. A look with a dropped wrench stays among them when
    the next certificate finds its torque "inside".
    """
    for one in looks_found_out_at(cart_ids, cut):
        if one.is_told:
            yield _row(one)


def _row(one):
    look, finding, got = one.look, one.finding, one.got
    return {
        "cart": look.fact.cart_id,
        "round": look.fact.round_id,
        "joints": look.fact_id,
        "done_at": look.fact.done_at,
        "joint": look.name,
        "is_critical": look.is_critical,
        "wrench": finding.wrench.name,
        "finding": finding.id,
        "found_out_at": finding.fact.done_at,
        "last_good_at": finding.after,
        "target_nm": look.target_nm,
        "error": _rounded(got and got.error),
        "delivered_nm": _rounded(got and got.nm),
        "low_nm": _rounded(got and got.low_nm),
        "high_nm": _rounded(got and got.high_nm),
        "verdict": one.verdict,
        "past_proof": one.past_proof is not None,
    }


def _rounded(value):
    """Return a float as the columns of torques and errors keep theirs."""
    return None if value is None else Decimal(str(value)).quantize(PLACES)
