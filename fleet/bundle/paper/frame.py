"""What every print of one bundle has in common: its foot, its sheet, its moments."""

from dataclasses import dataclass
from datetime import UTC, datetime
from functools import cached_property
from pathlib import Path

from django.utils.translation import get_language
from django.utils.translation import gettext as _

from fleet.bundle.cells import moment
from fleet.bundle.paper.blocks import Section, Sheet
from fleet.bundle.paper.press import press
from fleet.bundle.paper.wording import printable
from fleet.bundle.scope import Scope
from shared.checkpoint import Statement
from shared.models import Site

FOOT_DIGITS = 16
SHEETS = {Site.Units.INCH: "us-letter", Site.Units.METRIC: "a4"}


@dataclass
class Frame:
    """One bundle's prints: ``tables`` is the folder they are read from, ``to`` where they go."""

    scope: Scope
    tables: Path
    to: Path
    checkpoint: Statement
    fingerprint: str
    made_at: datetime
    made_by: str

    @property
    def zone(self):
        return self.scope.site.zone

    def moment(self, at) -> str:
        """Return a moment by the site's clock, with its zone."""
        return f"{moment(at, self.scope.zone).replace('T', ' ')} ({self.zone})"

    @cached_property
    def upright(self):
        return Sheet(SHEETS[self.scope.site.units])

    @cached_property
    def turned(self):
        return Sheet(SHEETS[self.scope.site.units], turned=True)

    def press(self, name: str, title: str, sections: list[Section]) -> str:
        """Set sections as one PDF of that name; return the name."""
        press(self._document(name, title, sections), self.to / name)
        return name

    def _document(self, name, title, sections):
        made_at = self.made_at.astimezone(UTC)
        return {
            "title": printable(f"{self.scope.site.name}: {title}"),
            "lang": (get_language() or "en").split("-")[0],
            "sheet": self.upright.name,
            "made": list(made_at.timetuple()[:6]),
            "foot": self._foot(),
            "page": _("page {page} of {pages}"),
            "file": name,
            "sections": [section.said() for section in sections],
        }

    def _foot(self):
        cut = self.scope.cut
        said = {
            "site": self.scope.site.name,
            "happened_by": moment(cut.happened_by, self.scope.zone),
            "known_by": moment(cut.known_by, self.scope.zone),
            "epoch": self.checkpoint.epoch,
            "size": self.checkpoint.size,
            "root": self.checkpoint.root.hex()[:FOOT_DIGITS],
            "fingerprint": self.fingerprint[:FOOT_DIGITS],
        }
        lines = (
            _("{site} · happened by {happened_by} · known by {known_by}"),
            _("checkpoint epoch {epoch}, size {size}, root {root} · content {fingerprint}"),
        )
        return [printable(line.format(**said)) for line in lines]
