"""Rows of a long sheet kept on disk, so that memory does not grow with the file.

A row is a plain tuple of texts, numbers, bytes and None. The file has no name, and is gone
with the process.
"""

import marshal
import tempfile
import weakref
from collections.abc import Iterable, Iterator
from heapq import merge

HELD_ROWS = 10_000
BLOCK_ROWS = 200

Block = tuple[int, int]


class Spool:
    """Rows in the order in which they were added; read as often as wanted."""

    def __init__(self) -> None:
        self.count = 0
        self._rows: list[tuple] = []
        self._runs: list[list[Block]] = []

    def add(self, row: tuple) -> None:
        self.count += 1
        self._rows.append(row)
        if len(self._rows) == HELD_ROWS:
            self._runs.append(self._written())
            self._rows = []

    def __iter__(self) -> Iterator[tuple]:
        for run in self._runs:
            yield from self._read(run)
        yield from self._rows

    def _written(self) -> list[Block]:
        """Write what is held at the file's end, in blocks; return their places and sizes."""
        if not self._runs:
            self._file = tempfile.TemporaryFile()  # noqa: SIM115 - closed with the spool, below
            weakref.finalize(self, self._file.close)
        place, blocks = self._file.seek(0, 2), []
        for start in range(0, len(self._rows), BLOCK_ROWS):
            size = self._file.write(marshal.dumps(self._rows[start : start + BLOCK_ROWS]))
            blocks.append((place, size))
            place += size
        return blocks

    def _read(self, run: Iterable[Block]) -> Iterator[tuple]:
        for place, size in run:
            self._file.seek(place)
            yield from marshal.loads(self._file.read(size))


class Sorted(Spool):
    """Rows added in any order and read back in theirs: sorted by runs, which are merged."""

    def __iter__(self) -> Iterator[tuple]:
        return merge(*map(self._read, self._runs), sorted(self._rows))

    def _written(self) -> list[Block]:
        self._rows.sort()
        return super()._written()
