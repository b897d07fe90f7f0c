"""Splitting a run of blocks into prints: nothing lost, nothing twice, nothing too long."""

from hypothesis import given
from hypothesis import strategies as st

from fleet.bundle.paper.blocks import Grid, Heading, Pairs, Wide, Words
from fleet.bundle.paper.parts import parts

MOST = 40
COLUMNS = (Wide("A", 1),)


def again(heading):
    return Heading(f"{heading.text} again", heading.level)


def split(blocks):
    return list(parts(blocks, MOST, again))


def a_grid(count, text="x"):
    return Grid(COLUMNS, [[f"{text}{place}"] for place in range(count)])


def rows_of(part):
    return [row for block in part if isinstance(block, Grid) for row in block.rows]


def test_what_fits_is_one_part():
    blocks = [Heading("One"), Words("said"), a_grid(30)]

    assert split(blocks) == [blocks]


def test_a_long_grid_goes_on_under_its_headings():
    blocks = [Heading("One"), Heading("Sub", 2), a_grid(60)]

    first, second = split(blocks)

    assert first == [Heading("One"), Heading("Sub", 2), Grid(COLUMNS, a_grid(60).rows[:38])]
    assert second == [
        Heading("One again"),
        Heading("Sub again", 2),
        Grid(COLUMNS, a_grid(60).rows[38:]),
    ]


def test_a_heading_near_the_end_begins_the_next_part():
    first, second = split([Heading("One"), a_grid(30), Heading("Two"), a_grid(5)])

    assert first == [Heading("One"), a_grid(30)]
    assert second == [Heading("Two"), a_grid(5)]


def test_grids_of_one_table_read_in_pieces_are_one():
    blocks = [Heading("One"), a_grid(5, "a"), a_grid(5, "b")]

    ((_heading, grid),) = split(blocks)

    assert grid.rows == [*a_grid(5, "a").rows, *a_grid(5, "b").rows]


def test_long_rows_count_for_more():
    long = Grid(COLUMNS, [["x" * 3000]] * 12)

    told = split([Heading("One"), long])

    # 11 lines each: three, with the heading, are 34 of 40
    assert [len(rows_of(part)) for part in told] == [3, 3, 3, 3]


def test_a_row_longer_than_a_part_stands_in_one():
    longest = Grid(COLUMNS, [["x" * 300 * MOST * 2]] * 2)

    told = split([Heading("One"), longest])

    assert [len(rows_of(part)) for part in told] == [1, 1]


def test_what_cannot_be_cut_stands_whole():
    pairs = Pairs(tuple((f"{place}", "said") for place in range(MOST * 2)))

    assert [pairs in part for part in split([Heading("One"), pairs, Words("after")])] == [
        True,
        False,
    ]


BLOCKS = st.lists(
    st.one_of(
        st.builds(Heading, st.sampled_from(["a", "b"]), st.integers(1, 3)),
        st.builds(Words, st.just("said")),
        st.builds(a_grid, st.integers(1, 130)),
    ),
    max_size=12,
)


@given(BLOCKS)
def test_every_row_stands_once_in_its_order(blocks):
    told = split(blocks)

    assert [row for part in told for row in rows_of(part)] == rows_of(blocks)
    assert all(sum(block.lines for block in part) <= MOST for part in told)
    words = [block for part in told for block in part if isinstance(block, Words)]
    assert words == [block for block in blocks if isinstance(block, Words)]
