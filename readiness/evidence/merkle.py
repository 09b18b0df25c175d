"""The Merkle tree of RFC 9162, section 2.1, over leaves of bytes: roots, proofs, and checking them.

A proof's hashes come in the RFC's own order. `Tree` works from the roots of perfect subtrees of
`TILE` leaves (tiles), so that what is asked of a million leaves reads a few thousand hashes and no
more than two tiles' leaves.
"""

import hashlib
from collections.abc import Callable, Sequence

TILE_LEVEL = 8
TILE = 1 << TILE_LEVEL
"""Leaves under one kept subtree."""

EMPTY_ROOT = hashlib.sha256(b"").digest()

Read = Callable[[int, int], Sequence[bytes]]


def leaf_hash(leaf: bytes) -> bytes:
    """2.1.1: a leaf and a node are hashed differently, so that none can stand for the other."""
    return hashlib.sha256(b"\x00" + leaf).digest()


def node_hash(left: bytes, right: bytes) -> bytes:
    return hashlib.sha256(b"\x01" + left + right).digest()


def tile_root(leaves: Sequence[bytes]) -> bytes:
    """The root of one whole tile."""
    if len(leaves) != TILE:
        raise ValueError(f"A tile has {TILE} leaves, not {len(leaves)}.")
    return _perfect([leaf_hash(leaf) for leaf in leaves])


def root_of(leaves: Sequence[bytes]) -> bytes:
    """The root of all these leaves, hashed anew."""
    return Tree(len(leaves), lambda start, end: leaves[start:end]).root()


def _perfect(hashes: list[bytes]) -> bytes:
    """The root over hashes whose number is a power of two."""
    while len(hashes) > 1:
        hashes = [node_hash(hashes[at], hashes[at + 1]) for at in range(0, len(hashes), 2)]
    return hashes[0]


class Tree:
    """So many leaves, read where they are needed: `read(start, end)` gives those from `start` on.

    `tiles` are the roots of the first whole tiles, as many as are kept; leaves under them are read
    only for a proof that goes through them.
    """

    def __init__(self, size: int, read: Read, tiles: Sequence[bytes] = ()):
        if len(tiles) * TILE > size:
            raise ValueError("There are more tiles than leaves for them.")
        self.size = size
        self._read = read
        self._tiles = tiles
        self._nodes: dict[tuple[int, int], bytes] = {}
        self._open_tile = -1
        self._below: dict[tuple[int, int], bytes] = {}
        """Nodes under the tile that was read last: many roots of one tree take no more memory."""

    def root(self, size: int | None = None) -> bytes:
        """The tree's root as it was with its first `size` leaves; all of them without."""
        size = self._fitting(size)
        return self._range(0, size) if size else EMPTY_ROOT

    def inclusion(self, index: int, size: int | None = None) -> list[bytes]:
        """2.1.3.1: that the leaf at `index` (from 0) is under the root of the first `size`."""
        size = self._fitting(size)
        if not 0 <= index < size:
            raise ValueError(f"There is no leaf {index} among {size}.")
        proof: list[bytes] = []
        start, end = 0, size
        while end - start > 1:
            middle = start + split(end - start)
            if index < middle:
                proof.append(self._range(middle, end))
                end = middle
            else:
                proof.append(self._range(start, middle))
                start = middle
        return proof[::-1]

    def consistency(self, earlier: int, size: int | None = None) -> list[bytes]:
        """2.1.4.1: that the first `size` leaves start with the first `earlier` ones."""
        size = self._fitting(size)
        if not 0 < earlier <= size:
            raise ValueError(f"No proof leads from {earlier} leaves to {size}.")
        if earlier == size:
            return []
        proof: list[bytes] = []
        start, end, known = 0, size, True
        while earlier != end:
            middle = start + split(end - start)
            if earlier <= middle:
                proof.append(self._range(middle, end))
                end = middle
            else:
                proof.append(self._range(start, middle))
                start, known = middle, False
        if not known:
            proof.append(self._range(start, end))
        return proof[::-1]

    def _fitting(self, size: int | None) -> int:
        size = self.size if size is None else size
        if not 0 <= size <= self.size:
            raise ValueError(f"There are {self.size} leaves, not {size}.")
        return size

    def _range(self, start: int, end: int) -> bytes:
        """The root over these leaves; `start` is where a subtree of the whole tree starts."""
        width = end - start
        if width & (width - 1) == 0:
            return self._node(width.bit_length() - 1, start)
        middle = start + split(width)
        return node_hash(self._range(start, middle), self._range(middle, end))

    def _node(self, level: int, start: int) -> bytes:
        """The root of the perfect subtree of 2^level leaves that starts there."""
        key = (level, start)
        kept = self._nodes if level >= TILE_LEVEL else self._within(start)
        if key not in kept:
            kept[key] = self._made(level, start)
        return kept[key]

    def _within(self, start: int) -> dict[tuple[int, int], bytes]:
        tile = start >> TILE_LEVEL
        if tile != self._open_tile:
            self._open_tile, self._below = tile, {}
            first = tile << TILE_LEVEL
            leaves = self._read(first, min(first + TILE, self.size))
            self._below = {(0, at): leaf_hash(leaf) for at, leaf in enumerate(leaves, first)}
        return self._below

    def _made(self, level: int, start: int) -> bytes:
        if level == TILE_LEVEL and start >> TILE_LEVEL < len(self._tiles):
            return self._tiles[start >> TILE_LEVEL]
        half = 1 << (level - 1)
        return node_hash(self._node(level - 1, start), self._node(level - 1, start + half))


def split(count: int) -> int:
    """The largest power of two that is smaller than `count` (2.1.1), for two leaves or more."""
    return 1 << ((count - 1).bit_length() - 1)


def includes(leaf: bytes, index: int, size: int, proof: Sequence[bytes], root: bytes) -> bool:
    """2.1.3.2: does the proof show that this leaf is at `index` under this root?"""
    if not 0 <= index < size:
        return False
    at, last, made = index, size - 1, leaf_hash(leaf)
    for part in proof:
        if last == 0:
            return False
        if at & 1 or at == last:
            made = node_hash(part, made)
            while not at & 1 and at:
                at, last = at >> 1, last >> 1
        else:
            made = node_hash(made, part)
        at, last = at >> 1, last >> 1
    return last == 0 and made == root


def is_consistent(
    earlier: int, earlier_root: bytes, size: int, root: bytes, proof: Sequence[bytes]
) -> bool:
    """2.1.4.2: does the proof show that the larger tree starts with the smaller one?

    Anything starts with a tree without leaves, and needs no proof for it.
    """
    if not 0 <= earlier <= size:
        return False
    if earlier == 0:
        return not proof and earlier_root == EMPTY_ROOT
    if earlier == size:
        return not proof and earlier_root == root
    parts = list(proof) if earlier & (earlier - 1) else [earlier_root, *proof]
    if not parts:
        return False
    at, last = earlier - 1, size - 1
    while at & 1:
        at, last = at >> 1, last >> 1
    first = second = parts[0]
    for part in parts[1:]:
        if last == 0:
            return False
        if at & 1 or at == last:
            first, second = node_hash(part, first), node_hash(part, second)
            while not at & 1 and at:
                at, last = at >> 1, last >> 1
        else:
            second = node_hash(second, part)
        at, last = at >> 1, last >> 1
    return last == 0 and first == earlier_root and second == root
