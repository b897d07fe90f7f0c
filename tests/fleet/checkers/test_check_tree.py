"""The checker's own tree against the tool's, over random leaves."""

from hypothesis import given
from hypothesis import strategies as st

from fleet.checkers import check
from shared.tree import Tree, is_consistent, root_of

LEAVES = st.lists(st.binary(min_size=32, max_size=32), max_size=70)


@given(LEAVES)
def test_growing_root_is_the_tree_s(leaves):
    growing = check.Growing()
    roots = [growing.root()]
    for leaf in leaves:
        growing.add(leaf)
        roots.append(growing.root())

    assert roots == [root_of(leaves[:size]) for size in range(len(leaves) + 1)]


HASHES = st.binary(min_size=32, max_size=32)


@given(st.data(), st.lists(HASHES, min_size=1, max_size=70))
def test_proofs_of_the_tree_hold_and_spoilt_ones_do_not(data, leaves):
    tree, size = Tree(lambda start, end: leaves[start:end], len(leaves)), len(leaves)
    earlier = data.draw(st.integers(1, size))
    proof = tree.consistency_proof(earlier)
    ends = tree.root(earlier), size, tree.root()

    assert check.is_consistent(earlier, *ends, proof)
    for place, right in enumerate(proof):
        wrong = bytes([right[0] ^ 1]) + right[1:]
        assert not check.is_consistent(earlier, *ends, [*proof[:place], wrong, *proof[place + 1 :]])
    assert not check.is_consistent(earlier, *ends, [*proof, bytes(32)])


@given(
    earlier=st.integers(1, 20),
    size=st.integers(1, 20),
    roots=st.tuples(HASHES, HASHES),
    proof=st.lists(HASHES, max_size=6),
)
def test_any_proof_is_judged_as_the_tool_judges_it(earlier, size, roots, proof):
    ours = check.is_consistent(earlier, roots[0], size, roots[1], proof)

    assert ours == is_consistent(earlier, roots[0], size, roots[1], proof)
