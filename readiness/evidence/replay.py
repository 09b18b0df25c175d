"""Comparing what is stored with the Record's last word on it, row by row and column by column."""

from collections.abc import Collection, Iterable
from functools import cached_property
from typing import Any

from readiness.evidence.breaks import Break
from readiness.evidence.chains import Chain, LastWord, texts_of
from readiness.evidence.forms import Form, shape_of
from readiness.evidence.kept import BY_NAME, OF_BUSINESS, OF_SITES, Kept
from readiness.evidence.leaves import digest_of
from readiness.evidence.record import said_digest
from readiness.models import Business, Commitment, Said

Key = Any
"""A site's id, or None for the business."""


def row_breaks(chains: dict[Key, Chain], keys: Collection[Key]) -> dict[Key, Break]:
    """By site (None: the business), the first row or text that is not as the Record says."""
    kept_apart = _Apart(keys)
    found: dict[Key, Break] = {}
    seen: dict[Key, set[str]] = {key: set() for key in keys}
    for kept in OF_SITES + OF_BUSINESS:
        for key, form in _forms(kept, keys, kept_apart.salts):
            seen[key].add(form.row)
            if key not in found:
                wrong = _compare(chains.get(key) or Chain(), form, kept_apart)
                if wrong:
                    found[key] = wrong
    for key in keys:
        chain = chains.get(key)
        if chain and key not in found:
            gone = _gone(chain, seen[key])
            if gone:
                found[key] = gone
    texts = texts_of(chains.values())
    for key, chain in chains.items():
        if key not in found:
            wrong = _text_break(chain, texts)
            if wrong:
                found[key] = wrong
    return found


class _Apart:
    """What stands beside the chains of these sites (None: the business), by the names of rows."""

    def __init__(self, keys: Collection[Key]):
        self._kept = Commitment.objects.filter(site__in=[key for key in keys if key is not None])
        if None in keys:
            self._kept |= Commitment.objects.filter(site=None)
        self.salts: dict[str, str] = dict(self._kept.values_list("row", "salt"))

    @cached_property
    def leaves(self) -> dict[str, dict]:
        """Only wanted where a digest does not fit; after a new column that is each row."""
        return dict(self._kept.values_list("row", "leaves"))


def _forms(kept: Kept, keys: Collection[Key], salts: dict[str, str]) -> Iterable[tuple[Key, Form]]:
    shape = shape_of(kept)
    if kept.of_site:
        sites = [key for key in keys if key is not None]
        return shape.read(shape.of_sites(sites), salts) if sites else ()
    return shape.read(kept.model._base_manager.filter(kept.when), salts) if None in keys else ()


def _compare(chain: Chain, form: Form, apart: _Apart) -> Break | None:
    word = chain.rows.get(form.row)
    if word is None:
        if not chain.whole or _is_untouched(form):
            return None
        return Break(f"{form.row} stands in no entry of the Record.", row=form.row)
    if word.digest is None:
        text = f"{form.row} is there, although entry {word.sequence} says that it was deleted."
        return Break(text, word.sequence, word.at, form.row)
    if form.digest == word.digest:
        return None
    return _difference(form, word, apart.leaves.get(form.row))


def _is_untouched(form: Form) -> bool:
    """The business's row is there before anybody has set anything."""
    if form.row != "business/1":
        return False
    untouched = Business()
    shape = shape_of(BY_NAME["business"])
    return all(
        form.leaves[column] == shape.leaf(column, getattr(untouched, column), form.salt)
        for column in shape.columns
    )


def _difference(form: Form, word: LastWord, recorded: dict | None) -> Break | None:
    """Which columns of a row are not as they were recorded; None where only new ones came."""
    where = (word.sequence, word.at, form.row)
    if recorded is None or digest_of(form.row, recorded) != word.digest:
        text = f"what entry {word.sequence} says of {form.row} can't be compared: its salt or "
        return Break(f"{text}its parts were changed.", *where)
    shape = shape_of(BY_NAME[form.row.split("/")[0]])
    differing = {
        column: _both(shape, column, leaf, form.leaves.get(column))
        for column, leaf in recorded.items()
        if form.leaves.get(column) != leaf
    }
    # What came with a later version holds what the migration filled in, for every row alike.
    for column in form.leaves.keys() - recorded.keys():
        if form.leaves[column] != shape.default_leaf(column, form.salt):
            differing[column] = _both(shape, column, None, form.leaves[column])
    if not differing:
        return None
    since = f"since entry {word.sequence} of {word.at:%d %b %Y, %H:%M} UTC"
    text = f"{form.row} was changed {since}: {', '.join(sorted(differing))}."
    return Break(text, *where, columns=differing)


def _both(shape, column: str, recorded: Any, now: Any) -> dict:
    return {"recorded": recorded, "now": now} if shape.is_plain(column) else {}


def _gone(chain: Chain, seen: set[str]) -> Break | None:
    for row, word in chain.rows.items():
        if word.digest is not None and row not in seen:
            text = f"{row} is gone since entry {word.sequence} of {word.at:%d %b %Y, %H:%M} UTC."
            return Break(text, word.sequence, word.at, row)
    return None


def _text_break(chain: Chain, texts: dict[int, dict[str, Said]]) -> Break | None:
    for entry, digests in chain.said.items():
        there = texts.get(entry, {})
        for name, digest in digests.items():
            text = there.get(name)
            if text is None or said_digest(text) != digest:
                return Break(f"the {name} that was written with an entry was changed or is gone.")
    return None
