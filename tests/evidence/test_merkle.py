"""The Merkle tree against RFC 9162's own text and examples, published vectors, and pymerkle."""

import hashlib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pymerkle import InmemoryTree, verify_consistency

from readiness.evidence import merkle
from readiness.evidence.merkle import TILE, Tree, includes, is_consistent, root_of

# certificate-transparency-go and -java test their trees with these (from memory: reference leaves
# and roots of Google's Certificate Transparency, which RFC 6962 and RFC 9162 share).
LEAVES = [
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
ROOTS = (
    "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855",
    "6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d",
    "fac54203e7cc696cf0dfcb42c92a1d9dbaf70ad9e621f4bd8d98662f00e3c125",
    "aeb6bcfe274b70a14fb067a5e5578264db0fa9b51af5e0ba159158f329e06e77",
    "d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
    "4e3bbb1f7b478dcfe71fb631631519a3bca12c9aefca1612bfce4c13a86264d4",
    "76e67dadbcdf1e10e1b74ddc608abd2f98dfb16fbce75277b5232a127f2087ef",
    "ddb89be403809e325750d3d263cd78929c2942b7942a34b77e122c9594a74c8c",
    "5dc9da79a70659a9ad559cb701ded9a2ab9d823aad2f4960cfe370eff4604328",
)


def leaves_of(count: int) -> list[bytes]:
    return [hashlib.sha256(str(number).encode()).digest() for number in range(count)]


def tree_of(leaves, tiles: int | None = None) -> Tree:
    """A tree that has the roots of its first `tiles` whole tiles, of all of them without."""
    whole = len(leaves) // TILE if tiles is None else tiles
    roots = [merkle.tile_root(leaves[at * TILE : (at + 1) * TILE]) for at in range(whole)]
    return Tree(len(leaves), lambda start, end: leaves[start:end], roots)


# RFC 9162, 2.1.1, 2.1.3.1 and 2.1.4.1, word by word.


def digest(data):
    return hashlib.sha256(data).digest()


def mth(d):
    if not d:
        return digest(b"")
    if len(d) == 1:
        return digest(b"\x00" + d[0])
    k = 1
    while k * 2 < len(d):
        k *= 2
    return digest(b"\x01" + mth(d[:k]) + mth(d[k:]))


def path(m, d):
    if len(d) == 1:
        return []
    k = 1
    while k * 2 < len(d):
        k *= 2
    if m < k:
        return [*path(m, d[:k]), mth(d[k:])]
    return [*path(m - k, d[k:]), mth(d[:k])]


def proof(m, d):
    return subproof(m, d, True)


def subproof(m, d, b):
    if m == len(d):
        return [] if b else [mth(d)]
    k = 1
    while k * 2 < len(d):
        k *= 2
    if m <= k:
        return [*subproof(m, d[:k], b), mth(d[k:])]
    return [*subproof(m - k, d[k:], False), mth(d[:k])]


some_leaves = st.lists(st.binary(max_size=40), min_size=1, max_size=70)


def test_the_roots_are_the_published_ones():
    for count, root in enumerate(ROOTS):
        assert root_of(LEAVES[:count]).hex() == root, count


def test_the_proofs_are_those_of_the_rfcs_example():
    # RFC 9162, 2.1.5: seven leaves, nodes a to l.
    d = leaves_of(7)
    a, b, c, e0, e, f, j = (merkle.leaf_hash(leaf) for leaf in d)
    g, h, i = merkle.node_hash(a, b), merkle.node_hash(c, e0), merkle.node_hash(e, f)
    k, l = merkle.node_hash(g, h), merkle.node_hash(i, j)  # noqa: E741
    tree = tree_of(d)
    assert tree.root() == merkle.node_hash(k, l)
    assert tree.inclusion(0) == [b, h, l]
    assert tree.inclusion(3) == [c, g, l]
    assert tree.inclusion(4) == [f, j, k]
    assert tree.inclusion(6) == [i, k]
    assert tree.consistency(3) == [c, e0, g, l]
    assert tree.consistency(4) == [l]
    assert tree.consistency(6) == [i, j, k]


@given(some_leaves, st.data())
def test_roots_and_proofs_are_as_the_rfcs_text_says(leaves, data):
    size = data.draw(st.integers(1, len(leaves)))
    index = data.draw(st.integers(0, size - 1))
    earlier = data.draw(st.integers(1, size))
    tree = tree_of(leaves)
    assert tree.root(size) == mth(leaves[:size])
    assert tree.inclusion(index, size) == path(index, leaves[:size])
    assert tree.consistency(earlier, size) == proof(earlier, leaves[:size])


@given(some_leaves, st.data())
def test_roots_and_proofs_are_pymerkles(leaves, data):
    theirs, ours = InmemoryTree(), tree_of(leaves)
    theirs.append_entries(leaves)
    size = data.draw(st.integers(1, len(leaves)))
    index = data.draw(st.integers(0, size - 1))
    earlier = data.draw(st.integers(1, size))
    assert ours.root(size) == theirs.get_root(size)
    # pymerkle counts leaves from 1, and its path starts with what is proven.
    found = theirs.prove_inclusion(index + 1, size).path
    assert found == [merkle.leaf_hash(leaves[index]), *ours.inclusion(index, size)]
    # Its consistency proofs name other nodes than the RFC's (down to single leaves): both lead from
    # the one root to the other.
    roots = theirs.get_root(earlier), theirs.get_root(size)
    verify_consistency(*roots, theirs.prove_consistency(earlier, size))
    made = ours.consistency(earlier, size)
    assert is_consistent(earlier, roots[0], size, roots[1], made)


@pytest.mark.parametrize("count", [255, 256, 257, 511, 512, 513, 1000, 1023, 1024, 1025, 2999])
def test_tiles_change_no_root_and_no_proof(count):
    leaves = leaves_of(count)
    theirs = InmemoryTree()
    theirs.append_entries(leaves)
    for tiles in {0, 1, count // TILE} - ({1} if count < TILE else set()):
        tree = tree_of(leaves, tiles)
        assert tree.root() == theirs.get_root()
        for index in (0, count // 3, count - 1):
            made = tree.inclusion(index)
            assert made == theirs.prove_inclusion(index + 1).path[1:]
            assert includes(leaves[index], index, count, made, tree.root())
        for earlier in (1, count // 2, count - 1):
            made = tree.consistency(earlier)
            assert is_consistent(earlier, theirs.get_root(earlier), count, tree.root(), made)


@settings(max_examples=30)
@given(st.integers(1, 3 * TILE + 9), st.data())
def test_any_size_of_a_tree_with_tiles_has_its_root(count, data):
    leaves = leaves_of(count)
    size = data.draw(st.integers(0, count))
    assert tree_of(leaves).root(size) == mth(leaves[:size])


@given(some_leaves, st.data())
def test_a_proof_shows_what_it_is_of_and_nothing_else(leaves, data):
    size = len(leaves)
    index = data.draw(st.integers(0, size - 1))
    tree = tree_of(leaves)
    root, made = tree.root(), tree.inclusion(index)
    assert includes(leaves[index], index, size, made, root)
    assert not includes(leaves[index] + b"x", index, size, made, root)
    assert not includes(leaves[index], index, size, made, digest(root))
    assert not includes(leaves[index], index, size, [*made, root], root)
    assert not includes(leaves[index], size, size, made, root)
    assert not includes(leaves[index], -1, size, made, root)
    if made:
        assert not includes(leaves[index], index, size, made[:-1], root)
        at = data.draw(st.integers(0, len(made) - 1))
        wrong = [digest(part) if number == at else part for number, part in enumerate(made)]
        assert not includes(leaves[index], index, size, wrong, root)
    other = data.draw(st.integers(0, size - 1))
    if leaves[other] != leaves[index] or other != index:
        fits = includes(leaves[index], other, size, made, root)
        assert fits == (leaves[other] == leaves[index] and tree.inclusion(other) == made)


@given(some_leaves, st.data())
def test_a_consistency_proof_refuses_another_history(leaves, data):
    size = len(leaves)
    earlier = data.draw(st.integers(1, size))
    tree = tree_of(leaves)
    before, root, made = tree.root(earlier), tree.root(), tree.consistency(earlier)
    assert is_consistent(earlier, before, size, root, made)
    changed = data.draw(st.integers(0, earlier - 1))
    rewritten = [*leaves]
    rewritten[changed] += b"x"
    other = tree_of(rewritten)
    again = other.consistency(earlier)
    assert not is_consistent(earlier, before, size, other.root(), again)
    assert not is_consistent(earlier, other.root(earlier), size, root, made)
    assert not is_consistent(earlier, before, size, root, [*made, root])
    assert not is_consistent(size + 1, before, size, root, made)
    assert not is_consistent(-1, before, size, root, made)
    if made:
        assert not is_consistent(earlier, before, size, root, made[:-1])
        assert not is_consistent(earlier, before, size, root, [])


def test_anything_starts_with_a_tree_without_leaves():
    leaves = leaves_of(5)
    assert is_consistent(0, merkle.EMPTY_ROOT, 5, root_of(leaves), [])
    assert not is_consistent(0, root_of(leaves), 5, root_of(leaves), [])


def test_a_leaf_never_stands_for_a_node():
    # RFC 9162, 2.1.1: the prefixes are there against second preimages.
    a, b = leaves_of(2)
    inner = merkle.leaf_hash(a) + merkle.leaf_hash(b)
    assert root_of([a, b]) != root_of([inner])


def test_what_is_not_there_can_not_be_asked_for():
    tree = tree_of(leaves_of(3))
    for ask in (
        lambda: tree.root(4),
        lambda: tree.inclusion(3),
        lambda: tree.inclusion(-1),
        lambda: tree.consistency(0),
        lambda: tree.consistency(4),
        lambda: merkle.tile_root(leaves_of(3)),
        lambda: Tree(3, lambda start, end: [], [b"x"]),
    ):
        with pytest.raises(ValueError):
            ask()


def test_a_million_leaves_are_not_read_for_one_answer():
    """Roots of tiles stand in for the leaves under them: one proof reads two tiles at most."""
    count = 1_000_000
    reads: list[int] = []

    def read(start, end):
        reads.append(end - start)
        return [number.to_bytes(32, "big") for number in range(start, end)]

    tiles = [number.to_bytes(32, "big") for number in range(count // TILE)]
    for ask in (
        Tree.root,
        lambda tree: tree.inclusion(123_456),
        lambda tree: tree.consistency(999_000),
    ):
        reads.clear()
        ask(Tree(count, read, tiles))
        assert sum(reads) <= 2 * TILE
