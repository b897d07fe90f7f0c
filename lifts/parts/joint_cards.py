"""The cards of a round's joints: what is known of each beside what is asked, and on paper."""

from django.utils.translation import gettext as _

from lifts import pieces
from lifts.joint_card import card_of, is_hub, is_turned_to_torque, lacks, taper_rule
from lifts.models import HubBearing, Lacks, Look
from lifts.parts.joint_wrenches import best_for, range_words, reaches
from shared.dates import shown_day

ALWAYS = ("found", "moved", "action", "right", "pin", "backed", "stud", "bearing", "off")
IN_MORE = ("wrench", "adapter")


class Cards:
    """Makes the cards of a form's joints, by the wrenches that are carried."""

    def __init__(self, form):
        self.form, self.site = form, form.visit.site
        self.carried = form.carried_or_rack()
        self.is_said = bool(form.carried())

    def on_page(self):
        """Yield what the page shows of each joint, with its bound fields."""
        for joint in self.form.joints:
            known = self.form.before.of(joint)
            wrench = self._wrench(joint, known)
            said = card_of(joint, self.site.units, wrench=wrench, removals=known.removals)
            yield {
                "joint": joint,
                "said": said,
                "hub": self._hub(joint, known),
                "taper": taper_rule(),
                "last": self._last(known),
                "with": self._with(joint, wrench),
                "always": self._is_to_relock(joint),
                **self._bound(joint),
            }

    def on_paper(self):
        """Yield each joint's line on a printed sheet: name, boxes, what is known of it."""
        for joint in self.form.joints:
            known = self.form.before.of(joint)
            said = card_of(joint, self.site.units)
            lines = [self._figure_on_paper(joint, known, said), *said.brief, self._last(known)]
            pins = Look.Pin.labels[1:] if joint.has_pin else []
            about = " · ".join(line for line in lines if line)
            yield joint.name, [*Look.Found.labels, *pins], about

    def _figure_on_paper(self, joint, known, said):
        if lacks(joint, known.hub_bearing) == Lacks.BEARING:
            return _("hub bearing: sealed or taper? No figure until it is known")
        is_taper = is_hub(joint) and known.hub_bearing == HubBearing.TAPER
        return taper_rule() if is_taper else said.figure

    def _bound(self, joint):
        names = [name for name in (*ALWAYS, *IN_MORE) if f"{name}-{joint.pk}" in self.form.fields]
        return {name: self.form[f"{name}-{joint.pk}"] for name in names}

    def _hub(self, joint, known):
        """Return "sealed", "taper" or "unknown" of a hub nut, nothing of another joint."""
        return (known.hub_bearing or "unknown") if is_hub(joint) and not joint.is_by_look else ""

    def _last(self, known):
        if not known.found:
            return ""
        day = shown_day(self.site.day(known.done_at), self.site.date_order)
        said = {"found": Look.Found(known.found).label, "day": day}
        return _("last time %(found)s, %(day)s") % said

    def _wrench(self, joint, known):
        bearing = known.hub_bearing or (HubBearing.SEALED if is_hub(joint) else "")
        is_wanted = is_turned_to_torque(joint, bearing) and joint.target_nm is not None
        return best_for(joint.target_nm, self.carried) if is_wanted else None

    def _with(self, joint, wrench):
        """Say which wrench the look is put down to, or would be, and whether it reaches."""
        if wrench is None:
            return ""
        said = {"wrench": wrench.name, "range": range_words(wrench, self.site.units)}
        if reaches(wrench, joint.target_nm) and self.is_said:
            return _("with wrench %(wrench)s (%(range)s)") % said
        if reaches(wrench, joint.target_nm):
            return _("wrench %(wrench)s (%(range)s) reaches it: press it above") % said
        return _("no wrench here reaches it; nearest is %(wrench)s (%(range)s)") % said

    def _is_to_relock(self, joint):
        return pieces.of_relocking(joint.name) in self.form.visit.pieces
