"""The print of the bundle: PDFs of what its tables say, for people to read."""

from pathlib import Path

from fleet.bundle.paper.carts import write_carts, write_register
from fleet.bundle.paper.frame import Frame
from fleet.bundle.paper.reading import rows_of
from fleet.bundle.paper.report import write_report

# what one PDF is set from: memory and time grow with it
MOST_LINES = 2000
CARTS_PERCENT = 90


def write_papers(
    scope, tables: Path, to: Path, *, checkpoint, fingerprint, made_at, made_by, progress
) -> list[str]:
    """Write the PDFs of the tables in a folder into another; return their names in order.

    ``progress(percent)`` is told between PDFs and may end the work. Raises press.NotSet when
    one cannot be set.
    """
    frame = Frame(scope, tables, to, checkpoint, fingerprint, made_at, made_by)
    carts_in_all = sum(1 for _row in rows_of(tables / "register.csv"))
    carts, chapter_in = [], {}
    for name, ids in write_carts(frame, MOST_LINES):
        carts.append(name)
        chapter_in |= dict.fromkeys(ids, name)
        progress(CARTS_PERCENT * len(chapter_in) // carts_in_all)
    names = []
    for write in (write_report(frame, MOST_LINES), write_register(frame, MOST_LINES, chapter_in)):
        for name in write:
            names.append(name)
            progress(CARTS_PERCENT)
    return [*names, *carts]
