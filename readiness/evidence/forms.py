"""The one canonical form of each row, as the database has it; `leaves.py` says what it is."""

import secrets
from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass
from functools import cache
from typing import Any

from django.db.models import Model

from readiness.evidence.kept import BY_MODEL, Kept, Real, columns_of, is_plain, key_of
from readiness.evidence.leaves import column_key, digest_of, leaf_of, plain
from readiness.models import Commitment

READ_AT_ONCE = 500


@dataclass(frozen=True)
class Form:
    """A row as the Record sees it: its name, its salt, its leaves and their digest."""

    row: str
    salt: str
    leaves: dict[str, Any]

    @property
    def digest(self) -> str:
        return digest_of(self.row, self.leaves)


def today(model: type[Model]) -> type[Model]:
    """The models as they are now; a migration gives those of its time."""
    return model


def new_salt() -> str:
    return secrets.token_hex(16)


class Shape:
    """How rows of one table become forms, worked out once."""

    def __init__(self, kept: Kept, real: Real = today):
        self.kept, self.model, self._real = kept, real(kept.model), real
        columns = columns_of(kept, self.model)
        self.columns = columns
        # Before memberships there was one row a person.
        there = {field.attname for field in self.model._meta.concrete_fields}
        self._nth = kept.nth if kept.nth in there else ""
        self._plain = frozenset(column for column in columns if is_plain(self.model, column))

    def is_plain(self, column: str) -> bool:
        """Whether a column's leaf is its value."""
        return column in self._plain

    def leaf(self, column: str, value: Any, salt: str) -> Any:
        """The leaf of a value in a column."""
        if value is None or value == "":
            return value
        return plain(value) if column in self._plain else leaf_of(column_key(salt, column), value)

    def default_leaf(self, column: str, salt: str) -> Any:
        """The leaf of what a new column holds before anybody has written into it."""
        if column in self.kept.more:
            return None
        found = next(f for f in self.model._meta.concrete_fields if f.attname == column)
        return self.leaf(column, found.get_default(), salt)

    def of_sites(self, site_ids: Collection, using: str = "default"):
        """The query of the covered rows of these sites."""
        rows = self.model._base_manager.using(using).filter(self.kept.when)
        return rows.filter(**{f"{self.kept.of_site}__in": site_ids})

    def read(self, rows, salts: dict[str, str]) -> Iterator[tuple[Any, Form]]:
        """The form of each row of a query, with the id of its site; a new salt where there is none.

        `salts` gives the salt of each row that has one, by its name.
        """
        site = self.kept.of_site or "pk"
        keys = (site, "pk", self.kept.key, self._nth or "pk")
        values = rows.order_by("pk").values_list(*keys, *self.columns)
        for batch in _batches(values.iterator(chunk_size=READ_AT_ONCE)):
            more = self._more([row[1] for row in batch])
            for row in batch:
                owner = row[0] if self.kept.of_site else None
                name = self.kept.row_name(row[2], row[3] if self._nth else 1)
                yield owner, self._form(row[1], name, row[4:], more, salts)

    def _more(self, keys: Collection) -> dict[str, dict]:
        return {name: read(self._real, keys) for name, read in self.kept.more.items()}

    def _form(
        self, pk, name: str, values: tuple, more: dict[str, dict], salts: dict[str, str]
    ) -> Form:
        salt = salts.get(name) or new_salt()
        leaves = {
            column: self.leaf(column, value, salt)
            for column, value in zip(self.columns, values, strict=True)
        }
        for column, found in more.items():
            leaves[column] = leaf_of(column_key(salt, column), found.get(pk))
        return Form(name, salt, leaves)


@cache
def shape_of(kept: Kept) -> Shape:
    """The shape of today's model."""
    return Shape(kept)


def _shape(kept: Kept, real: Real) -> Shape:
    return shape_of(kept) if real is today else Shape(kept, real)


def _batches(rows: Iterable[tuple]) -> Iterator[list[tuple]]:
    batch: list[tuple] = []
    for row in rows:
        batch.append(row)
        if len(batch) == READ_AT_ONCE:
            yield batch
            batch = []
    if batch:
        yield batch


def forms_of(
    rows: Iterable[Model], *, new_salts: bool = False, real: Real = today, using: str = "default"
) -> list[Form]:
    """The forms of rows as the database has them now, whatever the objects at hand say.

    Only what is covered now: a paper that is not made yet has none. With `new_salts` the digests
    of before can be tried out by nobody any more.
    """
    by_kept: dict[Kept, list] = {}
    for row in rows:
        by_kept.setdefault(BY_MODEL[type(row).__name__], []).append(row)
    salts = {} if new_salts else _salts_of(by_kept, real(Commitment)._base_manager.using(using))
    found: list[Form] = []
    for kept, told in by_kept.items():
        shape = _shape(kept, real)
        named = shape.model._base_manager.using(using).filter(pk__in=[row.pk for row in told])
        found += [form for _site, form in shape.read(named.filter(kept.when), salts)]
    return found


def _salts_of(by_kept: dict[Kept, list], commitments) -> dict[str, str]:
    names = [key_of(row) for told in by_kept.values() for row in told]
    return dict(commitments.filter(row__in=names).values_list("row", "salt"))


def commit(forms: Iterable[Form], entry, *, real: Real = today, using: str = "default") -> None:
    """Keep what the digests of an entry were made of, in place of what was kept before."""
    commitment = real(Commitment)
    commitment._base_manager.using(using).bulk_create(
        [
            commitment(
                row=form.row,
                site_id=entry.site_id,
                entry_id=entry.pk,
                salt=form.salt,
                leaves=form.leaves,
            )
            for form in forms
        ],
        update_conflicts=True,
        unique_fields=["row"],
        update_fields=["entry", "salt", "leaves"],
    )
