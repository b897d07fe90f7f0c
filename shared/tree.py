"""The hash tree over a journal's leaves, its proofs, and how they are checked. Pure.

RFC 9162 section 2.1 (the same tree as RFC 6962): SHA-256, a leaf is SHA-256(0x00 | entry),
a node SHA-256(0x01 | left | right), and a tree of n leaves splits at the largest power of
two below n. All hashes are 32 bytes. A journal's entry number is its leaf's index plus one.
"""

from collections.abc import Callable, Sequence
from hashlib import sha256

BLOCK_LEAVES = 1024
EMPTY_ROOT = sha256(b"").digest()

ReadLeaves = Callable[[int, int], Sequence[bytes]]


def leaf_hash(entry: bytes) -> bytes:
    return sha256(b"\x00" + entry).digest()


def node_hash(left: bytes, right: bytes) -> bytes:
    return sha256(b"\x01" + left + right).digest()


def root_of(leaves: Sequence[bytes]) -> bytes:
    """Return the root over leaf hashes in their order; of none, SHA-256 of nothing.

    Level by level: an odd last node rises unchanged, which splits as the RFC does.
    """
    if not leaves:
        return EMPTY_ROOT
    level = list(leaves)
    while len(level) > 1:
        pairs = zip(level[::2], level[1::2], strict=False)
        above = [sha256(b"\x01" + left + right).digest() for left, right in pairs]
        level = [*above, level[-1]] if len(level) % 2 else above
    return level[0]


class Growing:
    """The root of a list of leaves that only grows, in memory of log2 of its length."""

    def __init__(self):
        self.size = 0
        # roots of full subtrees, the widest first, each of another width
        self._full: list[tuple[int, bytes]] = []

    def add(self, leaves: Sequence[bytes]) -> None:
        start = 0
        while start < len(leaves):
            width = self._next_width(len(leaves) - start)
            self._put(width, root_of(leaves[start : start + width]))
            start += width

    def _next_width(self, left: int) -> int:
        """Return the widest full subtree that may begin here and is filled by what is left."""
        aligned = self.size & -self.size or 1 << left.bit_length()
        while aligned > left:
            aligned >>= 1
        return aligned

    def _put(self, width: int, root: bytes) -> None:
        self.size += width
        while self._full and self._full[-1][0] == width:
            root = node_hash(self._full.pop()[1], root)
            width *= 2
        self._full.append((width, root))

    def root(self) -> bytes:
        if not self._full:
            return EMPTY_ROOT
        roots = [root for _width, root in self._full]
        found = roots.pop()
        while roots:
            found = node_hash(roots.pop(), found)
        return found


class Tree:
    """A tree whose leaves are read again where a proof needs them.

    ``read(start, end)`` returns the leaf hashes at indexes start to end - 1. Of what it
    reads only one hash a block of BLOCK_LEAVES is kept.
    """

    def __init__(self, read: ReadLeaves, size: int):
        self.read, self.size = read, size
        starts = range(0, size - size % BLOCK_LEAVES, BLOCK_LEAVES)
        self._blocks = [root_of(read(start, start + BLOCK_LEAVES)) for start in starts]

    def root(self, size: int | None = None) -> bytes:
        """Return the root over the first ``size`` leaves, over all without one."""
        size = self.size if size is None else size
        return self._hash_of(0, self._checked(size))

    def inclusion_proof(self, index: int, size: int | None = None) -> list[bytes]:
        """Return the proof that the leaf at ``index`` is in the tree of ``size`` leaves.

        RFC 9162 section 2.1.3.1. Raises ValueError for an index outside the tree.
        """
        size = self._checked(self.size if size is None else size)
        if not 0 <= index < size:
            raise ValueError(f"index {index} is not in a tree of {size} leaves")
        return self._path(index, 0, size)

    def consistency_proof(self, earlier: int, size: int | None = None) -> list[bytes]:
        """Return the proof that the tree of ``earlier`` leaves is a prefix of that of ``size``.

        RFC 9162 section 2.1.4.1. Raises ValueError unless 0 < earlier <= size.
        """
        size = self._checked(self.size if size is None else size)
        if not 0 < earlier <= size:
            raise ValueError(f"{earlier} leaves are no part of {size}")
        return self._subproof(earlier, 0, size, is_whole=True)

    def _checked(self, size):
        if not 0 <= size <= self.size:
            raise ValueError(f"the tree has {self.size} leaves, not {size}")
        return size

    def _hash_of(self, start, end):
        width = end - start
        if width == BLOCK_LEAVES and start % BLOCK_LEAVES == 0:
            return self._blocks[start // BLOCK_LEAVES]
        if width <= BLOCK_LEAVES:
            return root_of(self.read(start, end))
        half = _split(width)
        return node_hash(self._hash_of(start, start + half), self._hash_of(start + half, end))

    def _path(self, index, start, end):
        if end - start == 1:
            return []
        middle = start + _split(end - start)
        if index < middle:
            return [*self._path(index, start, middle), self._hash_of(middle, end)]
        return [*self._path(index, middle, end), self._hash_of(start, middle)]

    def _subproof(self, earlier, start, end, is_whole):
        if earlier == end:
            return [] if is_whole else [self._hash_of(start, end)]
        middle = start + _split(end - start)
        if earlier <= middle:
            proof = self._subproof(earlier, start, middle, is_whole)
            return [*proof, self._hash_of(middle, end)]
        proof = self._subproof(earlier, middle, end, is_whole=False)
        return [*proof, self._hash_of(start, middle)]


def _split(width: int) -> int:
    """Return the largest power of two smaller than ``width``, which is 2 or more."""
    return 1 << (width - 1).bit_length() - 1


def is_included(leaf: bytes, index: int, size: int, root: bytes, proof: Sequence[bytes]) -> bool:
    """Return whether the proof shows the leaf at ``index`` of a tree of ``size`` with ``root``.

    RFC 9162 section 2.1.3.2.
    """
    if not 0 <= index < size:
        return False
    place, last, found = index, size - 1, leaf
    for other in proof:
        if last == 0:
            return False
        if place & 1 or place == last:
            found = node_hash(other, found)
            while not place & 1 and place:
                place, last = place >> 1, last >> 1
        else:
            found = node_hash(found, other)
        place, last = place >> 1, last >> 1
    return last == 0 and found == root


def is_consistent(
    earlier: int, earlier_root: bytes, size: int, root: bytes, proof: Sequence[bytes]
) -> bool:
    """Return whether the proof shows the earlier tree to be a prefix of the later one.

    RFC 9162 section 2.1.4.2. Of a tree without leaves nothing needs a proof.
    """
    if earlier == 0:
        return earlier_root == EMPTY_ROOT and not proof
    if not 0 < earlier <= size:
        return False
    if earlier == size:
        return earlier_root == root and not proof
    return _grows(earlier, earlier_root, size, root, list(proof))


def _grows(earlier, earlier_root, size, root, proof):
    if earlier & (earlier - 1) == 0:
        proof.insert(0, earlier_root)
    if not proof:
        return False
    place, last = earlier - 1, size - 1
    while place & 1:
        place, last = place >> 1, last >> 1
    before = after = proof[0]
    for other in proof[1:]:
        if last == 0:
            return False
        if place & 1 or place == last:
            before, after = node_hash(other, before), node_hash(other, after)
            while not place & 1 and place:
                place, last = place >> 1, last >> 1
        else:
            after = node_hash(after, other)
        place, last = place >> 1, last >> 1
    return last == 0 and before == earlier_root and after == root
