"""A round's page: the visit, what stands beside the parts, and each part with its form."""

from dataclasses import dataclass
from functools import cached_property

from django.utils.translation import gettext as _

from fleet.actions.rounds import TakenDown, photo_id
from fleet.doubts import DISTANCE, HOURS, meters_of
from fleet.forms.rounds import RoundForm
from fleet.kinds import Part, register
from fleet.models import Round
from fleet.standing import facts_of
from fleet.why_now import day_said
from shared.photos import PhotoRefused, find_same, take

EMPTY = (None, "", [], False)


@dataclass
class Step:
    """One part of the round on its page. A part of the ``first`` must be done or put off."""

    part: Part
    form: object
    is_first: bool

    @property
    def is_open(self):
        return self.is_first or self.is_touched or bool(self.form.is_bound and self.form.errors)

    @cached_property
    def is_touched(self):
        """Whether anything was typed or pressed that the empty form did not hold."""
        return self.form.is_bound and any(
            field.data not in EMPTY and str(field.data) != str(field.initial) for field in self.form
        )

    def is_valid(self):
        if self.is_touched:
            return self.form.is_valid()
        if self.is_first:
            self.form.errors.clear()
            said = _("Nothing was taken down. Fill it in, or tick “Not done this visit”.")
            self.form.add_error(None, said)
        return not self.is_first

    @property
    def is_done(self):
        return self.is_touched and not self.form.is_left_out


class RoundPage:
    """What a mechanic sees and sends; unbound without ``data``."""

    def __init__(self, visit, at, data=None, files=None, *, cautions_seen=False):
        self.visit = visit
        saved = Round.objects.filter(pk=visit.id).first()
        facts = facts_of([visit.cart.pk])[visit.cart.pk]
        self.form = RoundForm(
            data,
            visit=visit,
            meters=meters_of(facts, visit.site, but_round=visit.corrects or visit.id),
            at=at,
            earliest=_earliest(facts, visit.site.zone),
            saved_at=saved and saved.done_at,
            seen=cautions_seen,
        )
        self.steps = [
            Step(register.parts[code], register.parts[code].form(visit, data, files), is_first)
            for codes, is_first in ((visit.first, True), (visit.others, False))
            for code in codes
        ]
        self.steps.sort(key=lambda step: (not step.is_first, step.part.place))
        self.photos = []

    def is_valid(self):
        """Judge all of it, so that every mistake is named at once."""
        judged = [self.form.is_valid(), *[step.is_valid() for step in self.steps]]
        if all(judged) and not self._is_anything_done():
            self.form.add_error(None, _("Nothing was taken down: there is nothing to save."))
            return False
        return all(judged) and self._take_photos()

    def _is_anything_done(self):
        said = self.form.cleaned_data
        typed = (said["hours"], said["distance"], said["note"])
        return any(step.is_done for step in self.steps) or any(one for one in typed)

    def _take_photos(self):
        """Keep the photos before anything is locked; say what cannot be kept."""
        for step in self.steps:
            files = step.form.photos() if step.is_done and hasattr(step.form, "photos") else ()
            for shows, file in files:
                self._take(step, shows, file)
        return not any(step.form.errors for step in self.steps if step.is_touched)

    def _take(self, step, shows, file):
        try:
            photo = take(file, shows=shows)
        except PhotoRefused as refused:
            step.form.add_error(None, f"{shows.label}: {refused.why}")
            return
        used = _use_before(self.visit, step.part, photo)
        if any(photo.original_sha256 == one.original_sha256 for _part, one in self.photos):
            used = _("the same photo twice; take one of each.")
        if used is not None:
            step.form.add_error(None, f"{shows.label}: {used}")
        self.photos.append((step.part, photo))

    def taken_down(self) -> TakenDown:
        """Return what a valid page says."""
        form, visit = self.form, self.visit
        return TakenDown(
            id=visit.id,
            opened_at=visit.opened_at,
            done_at=form.cleaned_data["done_at"],
            identified=visit.identified,
            cautions_seen=True,
            note=form.cleaned_data["note"].strip(),
            hours=form.shown(HOURS),
            distance=form.shown(DISTANCE),
            typed=form.typed(),
            hours_rolled=form.has_rolled(HOURS),
            distance_rolled=form.has_rolled(DISTANCE),
            doubted=form.doubted(),
            parts=[(step.part, step.form) for step in self.steps if step.is_done],
            photos=self.photos,
            corrects=visit.corrects,
            why_corrected=form.cleaned_data.get("why_corrected", "").strip(),
        )

    def mistakes(self):
        """Yield (where on the page, of what, message) for each mistake."""
        titled = [(_("Round"), "round", self.form)]
        titled += [(step.part.title, f"part-{step.part.code}", step.form) for step in self.steps]
        for title, place, form in titled:
            for name, messages in form.errors.items() if form.is_bound else ():
                where = form[name].auto_id if name in form.fields else place
                yield from ((where, title, message) for message in messages)

    def has_photos(self):
        """Whether photos were sent, which a browser does not send again by itself."""
        return any(step.form.files for step in self.steps)


def _earliest(facts, zone):
    """Return when the cart's lift was fitted, else when the cart came."""
    on = [chapter for chapter in facts.chapters if chapter.until_at is None]
    fitted = [chapter.earliest(zone) for chapter in on]
    return max(fitted) if fitted else min((f.done_at for f in facts.changes), default=None)


def _use_before(visit, part, photo):
    """Say where this very photo was used before; None where it was not."""
    own = [photo_id(round_id, part, photo) for round_id in (visit.id, visit.corrects) if round_id]
    same = find_same(visit.site, photo.original_sha256).exclude(pk__in=own).order_by("done_at")
    if not same:
        return None
    said = {"day": day_said(visit.site.day(same[0].done_at), visit.site.day(visit.at), visit.site)}
    return _("this very photo was taken in on %(day)s already; take a new one.") % said
