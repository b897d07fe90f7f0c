"""How a wrench was found out, and what that means for a look, in a site's words."""

from decimal import Decimal

from django.urls import reverse
from django.utils.translation import gettext as _

from lifts.found_out import findings_of
from lifts.models import WrenchCertificate
from lifts.proof_words import grade_assumed
from lifts.proof_words import percent as whole_percent
from lifts.wrench_page import percent, words_of
from shared.dates import shown_moment
from shared.units import shown


def finding_links(wrench, cut) -> list[tuple[str, str]]:
    """Return (what found the wrench out, the page of its looks), the last finding first."""
    site = wrench.site
    return [
        (words_of(one.fact, site), reverse("found-out", args=[site.slug, wrench.pk, one.id]))
        for one in reversed(findings_of(wrench, cut))
    ]


def torque(nm, site) -> str:
    return shown(Decimal(str(nm)), "torque", site.units)


def moment(at, site) -> str:
    return shown_moment(at, site.zone, site.date_order)


def error_words(finding, site) -> str:
    """Say the error as it was found, and by which entry where that came later."""
    if not finding.points:
        return _("not known: no certificate has measured it since")
    if finding.measured_by:
        by = words_of(finding.measured_by, site)
        return _("%(errors)s, measured later (%(by)s)") % {
            "errors": _errors(finding, site),
            "by": by,
        }
    if isinstance(finding.fact, WrenchCertificate):
        return _errors(finding, site)
    return _("%s, taken for all torques") % _errors(finding, site)


def _errors(finding, site):
    said = [
        _("%(error)s at %(nm)s") % {"error": percent(one.error), "nm": torque(one.set_nm, site)}
        for one in finding.points
    ]
    return ", ".join(said)


def window_words(finding, site) -> str:
    """Say from when to when the wrench is in doubt."""
    until = moment(finding.until, site)
    if finding.after is None:
        return _("from its first look, since it was never known to be good, up to %s") % until
    return _("after %(after)s, when it was last known to be good, up to %(until)s") % {
        "after": moment(finding.after, site),
        "until": until,
    }


def delivered_words(got, site) -> str:
    """Say what a nut got: "34.4 N·m (-14.0 %), too little"."""
    if got is None:
        return _("not known")
    said = f"{torque(got.nm, site)} ({percent(got.error)})"
    if got.is_under:
        return _("%s, too little") % said
    return _("%s, too much") % said if got.is_over else said


def band_words(got, site) -> str:
    """Say what the joint allows, and whether its sheet said so."""
    if got is None:
        return ""
    low, high = torque(got.low_nm, site), torque(got.high_nm, site)
    band = _("%(low)s to %(high)s") % {"low": low.partition(" ")[0], "high": high}
    return band if got.is_band_own else _("%s (± 10 %%)") % band


def proof_words(found) -> str:
    """Say that a fastener was pulled past its proof load, empty where it was not."""
    share = found.past_proof
    if share is None:
        return ""
    said = _(
        "About %s %% of proof load: studs and bolts past proof are replaced, not used again."
    ) % whole_percent(share.share)
    return " ".join(filter(None, [said, grade_assumed(found.look.joint, share)]))


def doubt_words(found, site) -> str:
    """Say of a look, in one text, that its wrench was doubted later, and why."""
    finding, got = found.finding, found.got
    said = _("done with wrench %(name)s, later doubted (%(why)s)") % {
        "name": finding.wrench.name,
        "why": words_of(finding.fact, site),
    }
    if got is None:
        return _("%s: what it delivered is not known") % said
    holes = {"said": said, "target": torque(got.target_nm, site)}
    if not got.breaks:
        return _("%(said)s: its next certificate found it inside at %(target)s") % holes
    holes["got"] = delivered_words(got, site)
    return _("%(said)s: of %(target)s it delivered %(got)s") % holes
