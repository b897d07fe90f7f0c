"""A round's page: the visit, what stands beside the parts, and each part with its form."""

from dataclasses import dataclass, replace
from functools import cached_property

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fleet.actions.rounds import TakenDown, photo_id
from fleet.doubts import DISTANCE, HOURS, meters_of
from fleet.forms.retelling import AGAIN, KEPT, StayForm
from fleet.forms.rounds import RoundForm
from fleet.kinds import Part, register
from fleet.lately import lately_of
from fleet.models import Cart, Reading, Round
from fleet.round_result import Told, held_by
from fleet.standing import running_of
from fleet.tellings import tellings_of
from fleet.why_now import day_said
from shared.mistakes import mistakes_of
from shared.photos import PhotoRefused, find_same, is_at_another_site, take

EMPTY = (None, "", [], False)
NOTHING_DONE = gettext_lazy("Nothing was taken down: there is nothing to save.")
NOTHING_CHANGED = gettext_lazy(
    "Nothing is told otherwise than it was, so nothing was saved. Fill in what was wrong."
)


@dataclass
class Step:
    """One part of the round on its page. A part of the ``first`` must be done or put off.

    ``held`` is the part as recorded in the round that is told again, which stays as it was
    unless it is told again here; ``stay`` says which.
    """

    part: Part
    form: object
    is_first: bool
    held: Told | None = None
    stay: StayForm | None = None
    is_asked: bool = False

    def __post_init__(self):
        if self.form.is_bound and not (self.is_told or self.is_asked):
            # what nothing was told of is asked for nothing
            self.form.errors.clear()

    @property
    def is_open(self):
        return self.is_first or self.is_told or self.is_asked

    @cached_property
    def is_told(self):
        """Whether the part is told here: by its content, or by what was said of it."""
        said = self.stay.said if self.stay else None
        return said == AGAIN or (self.is_touched and said != KEPT)

    @cached_property
    def is_touched(self):
        """Whether anything was typed or pressed that the empty form did not hold."""
        return self.form.is_bound and any(
            field.data not in EMPTY and str(field.data) != str(field.initial) for field in self.form
        )

    def is_valid(self):
        if self.is_told:
            return self.form.is_valid() and not self._is_empty()
        if self.is_first:
            said = _("Nothing was taken down. Fill it in, or tick “Not done this visit”.")
            self.form.add_error(None, said)
        return not self.is_first

    def _is_empty(self):
        """Object to a part told again of which nothing is told."""
        is_told = not self.form.is_left_out or self.form.cleaned_data.get("not_done")
        if self.held is None or is_told:
            return False
        said = _("Nothing was told of it again. Fill it in, or let it stay as it was.")
        self.form.add_error(None, said)
        return True

    @property
    def is_done(self):
        return self.is_told and not self.form.is_left_out

    @property
    def is_undone(self):
        return self.held is not None and self.is_told and self.form.is_left_out


class RoundPage:
    """What a mechanic sees and sends; unbound without ``data``.

    ``asked`` is (code of a part, what) where one part is to answer: then no other names mistakes.
    With the code of no part all is shown as typed, and nothing names mistakes.
    """

    def __init__(self, visit, at, data=None, files=None, *, cautions_seen=False, asked=None):
        self.visit = visit
        self.asked = asked
        saved = Round.objects.filter(pk=visit.id).first()
        facts = _facts(visit, is_shown=data is None)
        self.retold = Round.objects.filter(pk=visit.corrects).select_related("by").first()
        self.held = held_by(self.retold) if self.retold else {}
        self.form = RoundForm(
            data,
            visit=visit,
            meters=meters_of(facts, visit.site, but_round=visit.corrects or visit.id),
            at=at,
            earliest=_earliest(facts, visit.site.zone),
            saved_at=saved and saved.done_at,
            seen=cautions_seen,
            retold=self.retold,
            kept=self.retold and Reading.objects.filter(round_id=self.retold.pk).first(),
        )
        self.visit = visit = replace(visit, done_at=self._done_at())
        self.steps = [
            self._step(code, is_first, data, files)
            for codes, is_first in ((visit.first, True), (visit.others, False))
            for code in codes
        ]
        self.steps.sort(key=lambda step: (not step.is_first, not step.held, step.part.place))
        self.photos = []
        if asked:
            self._name_no_mistakes()

    def _done_at(self):
        """Return when the work was done, as far as it is said; None for now."""
        if self.form.is_bound:
            self.form.full_clean()
            if typed := self.form.cleaned_data["done_at"]:
                return typed
        return self.retold and self.retold.done_at

    def _name_no_mistakes(self):
        others = [step.form for step in self.steps if not step.is_asked]
        for form in [self.form, *others]:
            form.errors.clear()

    def answering(self):
        """Return the step of the part that answers what was asked; None where none is."""
        return next((step for step in self.steps if step.is_asked), None)

    def _part_form(self, part, data, files):
        if self._is_asked(part):
            return part.answer(self.visit, data, files, self.asked[1])
        return part.form(self.visit, data, files)

    def _is_asked(self, part):
        return part.asks and self.asked is not None and self.asked[0] == part.code

    def _step(self, code, is_first, data, files):
        part = register.parts[code]
        form, held = self._part_form(part, data, files), self.held.get(code)
        is_asked = self._is_asked(part)
        if held is None:
            return Step(part, form, is_first, is_asked=is_asked)
        form.fields["not_done"].label = _("It was not done: take this part back")
        stay = StayForm(data, prefix=f"stay-{code}")
        step = Step(part, form, is_first, held, stay, is_asked=is_asked)
        if step.is_touched:
            step.stay.offer_to_leave_out()
        return step

    def is_valid(self):
        """Judge all of it, so that every mistake is named at once."""
        judged = [self.form.is_valid(), *[step.is_valid() for step in self.steps]]
        if all(judged) and not self._is_anything_done():
            self.form.add_error(None, NOTHING_CHANGED if self.retold else NOTHING_DONE)
            return False
        return all(judged) and self._take_photos()

    def _is_anything_done(self):
        if any(step.is_done or step.is_undone for step in self.steps):
            return True
        if self.retold:
            return self.form.says_another_round()
        said = self.form.cleaned_data
        typed = (said["hours"], said["distance"], said["note"])
        return any(one for one in typed)

    def _take_photos(self):
        """Keep the photos before anything is locked; say what cannot be kept."""
        for step in self.steps:
            files = step.form.photos() if step.is_done and hasattr(step.form, "photos") else ()
            for shows, file in files:
                self._take(step, shows, file)
        return not any(step.form.errors for step in self.steps if step.is_told)

    def _take(self, step, shows, file):
        try:
            photo = take(file, shows=shows)
        except PhotoRefused as refused:
            step.form.add_error(None, f"{shows.label}: {refused.why}")
            return
        used = _use_before(self.visit, step, photo)
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
            undone=[step.part for step in self.steps if step.is_undone],
            photos=self.photos,
            corrects=visit.corrects,
            why_corrected=form.cleaned_data.get("why_corrected", "").strip(),
        )

    def mistakes(self):
        """Yield (where on the page, of what, message) for each mistake."""
        titled = [(_("Round"), "round", self.form)]
        titled += [(step.part.title, f"part-{step.part.code}", step.form) for step in self.steps]
        for title, place, form in titled:
            yield from mistakes_of(form, title, place)

    def has_photos(self):
        """Whether photos were sent, which a browser does not send again by itself."""
        is_said = "photos_chosen" in self.form.data
        return is_said or any(step.form.files for step in self.steps)


def _facts(visit, *, is_shown):
    """Return what the meters and the lift rest on: figures to judge may be of any day."""
    if is_shown and not visit.corrects:
        return lately_of(visit.cart).facts
    return running_of([visit.cart.pk])[visit.cart.pk]


def _earliest(facts, zone):
    """Return when the cart's lift was fitted, else when the cart came."""
    on = [chapter for chapter in facts.chapters if chapter.until_at is None]
    fitted = [chapter.earliest(zone) for chapter in on]
    return max(fitted) if fitted else min((f.done_at for f in facts.changes), default=None)


def _use_before(visit, step, photo):
    """Say where this very photo was used before; None where it was not."""
    same = find_same(visit.site, photo.original_sha256).order_by("done_at")
    same = same.exclude(pk=photo_id(visit.id, step.part, photo))
    if step.held:
        same = same.exclude(about__in=[one.pk for one in tellings_of(step.held.fact)])
    if same:
        return _used_at(visit, same[0])
    if is_at_another_site(visit.site, photo.original_sha256):
        return _("this very photo was taken in at another site already; take a new one.")
    return None


def _used_at(visit, used):
    """Say when and of which cart a photo was taken in; of a cart that left, the day alone."""
    site = visit.site
    said = {"day": day_said(site.day(used.done_at), site.day(visit.at), site)}
    other = Cart.objects.filter(pk=used.cart_id, site=site).exclude(pk=visit.cart.pk).first()
    if other is None:
        return _("this very photo was taken in on %(day)s already; take a new one.") % said
    said["number"] = other.number
    return _("this very photo was taken in at cart %(number)s on %(day)s; take a new one.") % said
