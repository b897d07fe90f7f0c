"""The hash tree: three ways to its root agree, its proofs hold, and nothing else does."""

from hashlib import sha256
from unittest import mock

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared import tree
from shared.tree import Growing, Tree, is_consistent, is_included, node_hash, root_of

MANY = 3 * tree.BLOCK_LEAVES + 517


def leaf(number):
    return sha256(number.to_bytes(4, "big")).digest()


LEAVES = [leaf(number) for number in range(MANY)]
sizes = st.integers(1, 200)


def tree_of(size):
    return Tree(lambda start, end: LEAVES[start:end], size)


def by_the_text(leaves):
    """Return the root as RFC 9162 section 2.1.1 defines it, by halves."""
    if not leaves:
        return sha256(b"").digest()
    if len(leaves) == 1:
        return leaves[0]
    split = 1
    while split * 2 < len(leaves):
        split *= 2
    return node_hash(by_the_text(leaves[:split]), by_the_text(leaves[split:]))


def changes(hashes):
    """Every list that differs by one hash left out, added, doubled, or with one bit turned."""
    for place, one in enumerate(hashes):
        turned = bytes([one[0] ^ 1]) + one[1:]
        yield [*hashes[:place], *hashes[place + 1 :]]
        yield [*hashes[:place], turned, *hashes[place + 1 :]]
        yield [*hashes[:place], one, *hashes[place:]]
    yield [*hashes, leaf(9_999)]
    yield [leaf(9_999), *hashes]


@given(sizes, st.lists(st.integers(1, 60), max_size=8))
def test_the_root_is_that_of_the_definition_however_it_grew(size, steps):
    grown, at = Growing(), 0
    for step in [*steps, size]:
        end = min(at + step, size)
        grown.add(LEAVES[at:end])
        at = end

    wanted = by_the_text(LEAVES[:size])

    assert [root_of(LEAVES[:size]), grown.root(), tree_of(size).root()] == [wanted] * 3
    assert grown.size == size


@pytest.mark.parametrize("size", [1023, 1024, 1025, 2048, 3072, MANY])
def test_roots_over_whole_blocks_are_those_of_the_definition(size):
    assert tree_of(MANY).root(size) == tree_of(size).root() == by_the_text(LEAVES[:size])


@given(st.data(), sizes)
def test_an_inclusion_proof_holds_for_its_own_leaf_alone(data, size):
    index = data.draw(st.integers(0, size - 1))
    proof, root = tree_of(200).inclusion_proof(index, size), root_of(LEAVES[:size])

    assert is_included(LEAVES[index], index, size, root, proof)
    assert not any(is_included(LEAVES[index], index, size, root, one) for one in changes(proof))
    assert not any(is_included(LEAVES[index], n, size, root, proof) for n in others(index, size))
    assert not is_included(leaf(9_999), index, size, root, proof)
    assert not is_included(LEAVES[index], index, size, leaf(9_999), proof)


def others(index, size):
    return [number for number in range(-1, size + 1) if number != index]


@given(st.data(), sizes)
def test_a_consistency_proof_holds_for_its_own_two_trees_alone(data, size):
    earlier = data.draw(st.integers(1, size))
    proof = tree_of(200).consistency_proof(earlier, size)
    before, after = root_of(LEAVES[:earlier]), root_of(LEAVES[:size])

    assert is_consistent(earlier, before, size, after, proof)
    assert not any(is_consistent(earlier, before, size, after, one) for one in changes(proof))
    assert not is_consistent(earlier, leaf(9_999), size, after, proof)
    assert not is_consistent(earlier, before, size, leaf(9_999), proof)
    assert not is_consistent(size + 1, before, size, after, proof)


@given(st.data(), st.integers(2, 200))
def test_a_rewritten_past_cannot_be_proved_consistent(data, size):
    earlier = data.draw(st.integers(1, size - 1))
    changed = data.draw(st.integers(0, earlier - 1))
    rewritten = [*LEAVES[:changed], leaf(9_999), *LEAVES[changed + 1 : size]]
    other = Tree(lambda start, end: rewritten[start:end], size)

    proof = other.consistency_proof(earlier)

    assert not is_consistent(earlier, root_of(LEAVES[:earlier]), size, other.root(), proof)


@pytest.mark.parametrize(("index", "size"), [(0, MANY), (1500, MANY), (MANY - 1, MANY), (7, 1025)])
def test_proofs_over_whole_blocks_hold(index, size):
    made = tree_of(MANY)

    inclusion = made.inclusion_proof(index, size)
    consistency = made.consistency_proof(index + 1, size)

    assert is_included(LEAVES[index], index, size, made.root(size), inclusion)
    assert is_consistent(index + 1, made.root(index + 1), size, made.root(size), consistency)


def test_a_proof_of_another_length_than_the_size_asks_for_is_refused():
    two, three = root_of(LEAVES[:2]), root_of(LEAVES[:3])

    assert not is_included(LEAVES[1], 0, 1, two, [LEAVES[0]])
    assert not is_included(LEAVES[0], 0, 3, two, [LEAVES[1]])
    assert not is_consistent(2, two, 5, three, tree_of(3).consistency_proof(2))


def test_of_an_empty_tree_nothing_needs_a_proof():
    empty = sha256(b"").digest()

    assert is_consistent(0, empty, 3, root_of(LEAVES[:3]), [])
    assert not is_consistent(0, leaf(1), 3, root_of(LEAVES[:3]), [])
    assert not is_consistent(0, empty, 3, root_of(LEAVES[:3]), [leaf(1)])
    assert Growing().root() == root_of([]) == tree_of(0).root() == empty


@pytest.mark.parametrize(
    "ask",
    [
        lambda made: made.root(8),
        lambda made: made.root(-1),
        lambda made: made.inclusion_proof(7),
        lambda made: made.inclusion_proof(-1),
        lambda made: made.inclusion_proof(3, 3),
        lambda made: made.inclusion_proof(0, 8),
        lambda made: made.consistency_proof(0),
        lambda made: made.consistency_proof(8),
        lambda made: made.consistency_proof(4, 3),
    ],
)
def test_what_lies_outside_the_tree_is_refused(ask):
    with pytest.raises(ValueError):
        ask(tree_of(7))


def test_a_proof_reads_few_leaves_again():
    read = mock.Mock(side_effect=lambda start, end: LEAVES[start:end])
    made = Tree(read, MANY)
    read.reset_mock()

    made.inclusion_proof(1500)

    assert sum(end - start for start, end in (call.args for call in read.mock_calls)) < 2000
