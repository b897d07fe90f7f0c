"""The hash tree against known trees of RFC 6962 section 2.1, the same as RFC 9162 section 2.1.

The eight entries, the roots and the proofs are those that public test suites of Certificate
Transparency have in common. The two hashes of short texts were computed from the definition.
"""

from hashlib import sha256
from itertools import pairwise

import pytest

from shared.tree import Growing, Tree, is_consistent, is_included, leaf_hash, node_hash, root_of

ENTRIES = [
    bytes.fromhex(text)
    for text in (
        "",
        "00",
        "10",
        "2021",
        "3031",
        "40414243",
        "5051525354555657",
        "606162636465666768696a6b6c6d6e6f",
    )
]
ROOTS = [
    "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855",
    "6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d",
    "fac54203e7cc696cf0dfcb42c92a1d9dbaf70ad9e621f4bd8d98662f00e3c125",
    "aeb6bcfe274b70a14fb067a5e5578264db0fa9b51af5e0ba159158f329e06e77",
    "d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
    "4e3bbb1f7b478dcfe71fb631631519a3bca12c9aefca1612bfce4c13a86264d4",
    "76e67dadbcdf1e10e1b74ddc608abd2f98dfb16fbce75277b5232a127f2087ef",
    "ddb89be403809e325750d3d263cd78929c2942b7942a34b77e122c9594a74c8c",
    "5dc9da79a70659a9ad559cb701ded9a2ab9d823aad2f4960cfe370eff4604328",
]
LEAF_1 = "96a296d224f285c67bee93c30f8a309157f0daa35dc5b87e410b78630a09cfc7"
LEAVES_2_3 = "5f083f0a1a33ca076a95279832580db3e0ef4584bdff1f54c8a360f50de3031e"
LEAVES_4_7 = "6b47aaf29ee3c2af9af889bc1fb9254dabd31177f16232dd6aab035ca39bf6e4"
LEAF_4 = "bc1a0643b12e4d2d7c77918f44e0f4f79a838b6cf9ec5b5c283e1f4d88599e6b"
LEAVES_4_5 = "0ebc5d3437fbe2db158b9f126a1d118e308181031d0a949f8dededebc558ef6a"
LEAVES_6_7 = "ca854ea128ed050b41b35ffc1b87b8eb2bde461e9e3b5596ece6b9d5975a0ae0"
INCLUSION = {
    (0, 1): [],
    (0, 8): [LEAF_1, LEAVES_2_3, LEAVES_4_7],
    (5, 8): [LEAF_4, LEAVES_6_7, ROOTS[4]],
    (2, 3): [ROOTS[2]],
    (1, 5): [ROOTS[1], LEAVES_2_3, LEAF_4],
}
CONSISTENCY = {
    (1, 1): [],
    (1, 8): [LEAF_1, LEAVES_2_3, LEAVES_4_7],
    (6, 8): [LEAVES_4_5, LEAVES_6_7, ROOTS[4]],
    (2, 5): [LEAVES_2_3, LEAF_4],
}
LEAVES = [leaf_hash(entry) for entry in ENTRIES]
TREE = Tree(lambda start, end: LEAVES[start:end], len(LEAVES))


def root(size):
    return bytes.fromhex(ROOTS[size])


def path(hexes):
    return [bytes.fromhex(text) for text in hexes]


def test_the_hashes_of_a_leaf_and_of_a_node():
    leaf = "395aa064aa4c29f7010acfe3f25db9485bbd4b91897b6ad7ad547639252b4d56"
    node = "aa217fe888e47007fa15edab33c2b492a722cb106c64667fc2b044444de66bbb"

    assert leaf_hash(b"L123456").hex() == leaf
    assert node_hash(b"N123", b"N456").hex() == node


@pytest.mark.parametrize("size", range(9))
def test_the_root_of_each_size(size):
    grown = Growing()
    grown.add(LEAVES[:size])

    found = [root_of(LEAVES[:size]), grown.root(), TREE.root(size)]

    assert [one.hex() for one in found] == [ROOTS[size]] * 3


@pytest.mark.parametrize(("index", "size"), INCLUSION)
def test_inclusion_proofs(index, size):
    proof = path(INCLUSION[index, size])

    assert TREE.inclusion_proof(index, size) == proof
    assert is_included(LEAVES[index], index, size, root(size), proof)


@pytest.mark.parametrize(("earlier", "size"), CONSISTENCY)
def test_consistency_proofs(earlier, size):
    proof = path(CONSISTENCY[earlier, size])

    assert TREE.consistency_proof(earlier, size) == proof
    assert is_consistent(earlier, root(earlier), size, root(size), proof)


def test_two_leaves_that_changed_places_give_other_roots():
    for place, _next in pairwise(range(8)):
        swapped = [*LEAVES]
        swapped[place], swapped[place + 1] = swapped[place + 1], swapped[place]

        assert root_of(swapped) != root(8)
        assert not is_included(swapped[place], place, 8, root(8), TREE.inclusion_proof(place))


def test_one_changed_byte_gives_another_root():
    for place, entry in enumerate(ENTRIES[1:], 1):
        changed = [*LEAVES]
        changed[place] = leaf_hash(bytes([entry[0] ^ 1]) + entry[1:])

        assert root_of(changed) != root(8)
        assert not is_included(changed[place], place, 8, root(8), TREE.inclusion_proof(place))


def test_the_path_of_another_size_proves_nothing():
    proof = path(INCLUSION[5, 8])

    assert not is_included(LEAVES[5], 5, 7, root(7), proof)
    assert not is_included(LEAVES[5], 5, 8, root(7), proof)


@pytest.mark.parametrize(("index", "size"), [key for key, proof in INCLUSION.items() if proof])
def test_a_cut_or_longer_path_proves_no_inclusion(index, size):
    proof = path(INCLUSION[index, size])

    for other in (proof[:-1], proof[1:], [*proof, root(1)], [root(1), *proof]):
        assert not is_included(LEAVES[index], index, size, root(size), other)


@pytest.mark.parametrize(("earlier", "size"), [key for key, proof in CONSISTENCY.items() if proof])
def test_a_cut_or_longer_path_proves_no_growth(earlier, size):
    proof = path(CONSISTENCY[earlier, size])

    for other in (proof[:-1], proof[1:], [*proof, root(1)], [root(1), *proof]):
        assert not is_consistent(earlier, root(earlier), size, root(size), other)


def test_an_inner_node_is_no_leaf():
    pair = LEAVES[0] + LEAVES[1]

    assert leaf_hash(pair) != node_hash(*LEAVES[:2]) == sha256(b"\x01" + pair).digest()
