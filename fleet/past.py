"""A question about the past, as the address of a page asks it."""

from dataclasses import dataclass
from datetime import datetime
from urllib.parse import urlencode
from zoneinfo import ZoneInfo

from fleet.forms.past import PastForm
from fleet.kinds import Cut
from fleet.past_sites import site_at
from shared.models import Site


@dataclass(frozen=True)
class Question:
    """Two times at a site; ``site`` is as it was, ``is_of_now`` known by the moment of asking."""

    site: Site
    cut: Cut
    is_of_now: bool

    @property
    def day(self):
        return self.site.day(self.cut.happened_by)

    @property
    def is_known_then(self):
        return self.cut.known_by == self.cut.happened_by

    @property
    def address(self):
        """The query of this very question: asked again it is answered the same."""
        return self._address() if self.is_of_now else self._address(self.cut.known_by)

    @property
    def known_then(self):
        return self._address(self.cut.happened_by)

    @property
    def known_now(self):
        return self._address()

    def _address(self, known=None):
        moments = {"happened": self.cut.happened_by} | ({"known": known} if known else {})
        return urlencode({name: self._local(at).isoformat() for name, at in moments.items()})

    def _local(self, at) -> datetime:
        return at.astimezone(ZoneInfo(self.site.zone))

    def as_typed(self):
        """Return what the form shows: local times, to the thousandth of a second."""
        typed = {"happened": self._typed(self.cut.happened_by)}
        return typed if self.is_of_now else typed | {"known": self._typed(self.cut.known_by)}

    def _typed(self, at):
        local = self._local(at).replace(tzinfo=None)
        return local.isoformat(timespec="milliseconds" if local.microsecond else "auto")


def asked(request):
    """Return the form, and the Question that the address asks; None where it asks none."""
    about = {"site": request.site, "at": request.viewer.at}
    if not (request.GET.get("happened") or request.GET.get("known")):
        return PastForm(**about), None
    form = PastForm(request.GET, **about)
    if not form.is_valid():
        return form, None
    cut = form.cut()
    question = Question(site_at(request.site, cut), cut, not form.cleaned_data["known"])
    return PastForm(initial=question.as_typed(), **about), question
