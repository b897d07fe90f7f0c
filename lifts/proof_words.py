"""What is said of the share of proof that a joint's target asks for."""

from django.utils.translation import gettext as _

from shared.units import shown


def percent(share):
    return round(share * 100)


def share_words(share):
    """Say the share with its scatter: "about 50 % (33 to 68 %)"."""
    holes = {name: percent(getattr(share, name)) for name in ("share", "low", "high")}
    return _("about %(share)s %% (%(low)s to %(high)s %%)") % holes


def grade_assumed(joint, share):
    """Say which grade was counted with in place of the joint's own; empty when it is known."""
    if not share.is_grade_assumed:
        return ""
    if not joint.grade:
        return _("grade not marked (taken as %s, the weakest)") % share.grade
    return _("grade “%(grade)s” not known (taken as %(weakest)s, the weakest)") % {
        "grade": joint.grade,
        "weakest": share.grade,
    }


def nut_factor_assumed(share):
    if not share.is_nut_factor_assumed:
        return ""
    return _("K not given (taken as %.2f)") % share.nut_factor


def assumed(joint, share):
    """Return what was assumed, in words, for want of what the joint does not say."""
    said = (grade_assumed(joint, share), nut_factor_assumed(share))
    return [words for words in said if words]


def above_words(joint, share, units):
    """Say of one joint what is asked of it and what was assumed, in the units of a site."""
    grade = grade_assumed(joint, share) or _("marked “%s”") % joint.grade
    factor = nut_factor_assumed(share) or _("K %s") % f"{share.nut_factor:g}"
    return _("%(joint)s: %(target)s on %(thread)s, %(grade)s, %(factor)s: %(share)s of proof") % {
        "joint": joint.name,
        "target": shown(joint.target_nm, "torque", units),
        "thread": joint.thread,
        "grade": grade,
        "factor": factor,
        "share": share_words(share),
    }
