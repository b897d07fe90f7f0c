"""Splits a long run of blocks into parts that are set one by one."""

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from itertools import accumulate

from fleet.bundle.paper.blocks import Grid, Heading, weight

# a heading with less room than this begins the next part
FEW_LINES = 12


def parts(blocks, most_lines: int, again):
    """Yield lists of blocks, each of at most ``most_lines``; a grid goes on in the next.

    A part that begins in the midst of a chapter says the headings it stands under once more,
    as ``again(heading)`` words them. ``blocks`` is read only as far as needed.
    """
    splitter = _Splitter(most_lines, again)
    for block in blocks:
        yield from splitter.add(block)
    yield splitter.part


@dataclass
class _Splitter:
    most_lines: int
    again: Callable
    part: list = field(default_factory=list)
    under: list = field(default_factory=list)
    lines: int = 0

    def add(self, block):
        if isinstance(block, Heading):
            self.under = [seen for seen in self.under if seen.level < block.level]
            if self.room < FEW_LINES:
                yield self._next()
            self.under.append(block)
        while block.lines > self.room and self._may_cut(block):
            if isinstance(block, Grid):
                block = self._cut(block)
            yield self._next()
        self._take(block)

    @property
    def room(self):
        return self.most_lines - self.lines

    def _may_cut(self, block):
        """Whether the block is better off in the next part, wholly or in part."""
        return len(self.part) > len(self.under) or (isinstance(block, Grid) and len(block.rows) > 1)

    def _cut(self, grid):
        """Take in the rows that there is room for, one at least in a part; return the rest."""
        ends = accumulate(map(weight, grid.rows))
        fits = sum(1 for end in ends if end <= self.room)
        if len(self.part) == len(self.under):
            fits = max(fits, 1)
        if fits:
            self._take(replace(grid, rows=grid.rows[:fits]))
        return replace(grid, rows=grid.rows[fits:])

    def _take(self, block):
        """Take in a block; a grid right after one of its kind only makes that longer."""
        self.lines += block.lines
        last = self.part[-1] if self.part else None
        if isinstance(block, Grid) and isinstance(last, Grid) and last.columns == block.columns:
            self.part[-1] = replace(last, rows=[*last.rows, *block.rows])
        else:
            self.part.append(block)

    def _next(self):
        done = self.part
        self.part = [self.again(heading) for heading in self.under]
        self.lines = len(self.part)
        return done
