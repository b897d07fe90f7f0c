"""Splits a long run of blocks into parts that are set one by one."""

from dataclasses import dataclass, field, replace

from fleet.bundle.paper.blocks import Grid, Heading

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
    again: object
    part: list = field(default_factory=list)
    under: list = field(default_factory=list)

    def add(self, block):
        if isinstance(block, Heading):
            self.under = [seen for seen in self.under if seen.level < block.level]
            if self.room < FEW_LINES:
                yield self._next()
            self.under.append(block)
        while block.lines > self.room:
            if isinstance(block, Grid):
                block = self._cut(block)
            elif len(self.part) == len(self.under):
                break  # longer than any part, and not to be cut
            yield self._next()
        self._take(block)

    def _cut(self, grid):
        """Take in what there is room for; return the rest."""
        first, rest = grid.rows[: self.room], grid.rows[self.room :]
        if first:
            self._take(replace(grid, rows=first))
        return replace(grid, rows=rest)

    def _take(self, block):
        """Take in a block; a grid right after one of its kind only makes that longer."""
        last = self.part[-1] if self.part else None
        if isinstance(block, Grid) and isinstance(last, Grid) and last.columns == block.columns:
            self.part[-1] = replace(last, rows=[*last.rows, *block.rows])
        else:
            self.part.append(block)

    @property
    def room(self):
        return self.most_lines - sum(block.lines for block in self.part)

    def _next(self):
        done = self.part
        self.part = [self.again(heading) for heading in self.under]
        return done
