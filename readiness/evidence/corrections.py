"""The one way to change rows of issued reports: in a migration, and the Record tells of it.

    def correct(apps, schema_editor):
        with corrections(apps, "Heights were stored in cm by version 0.3.") as record:
            for item in apps.get_model("readiness", "DefectItem").objects.filter(...):
                record.change(item, measured_value=item.measured_value * 10)

Works on the models as the migration has them. Each site whose rows change gets one entry that names
the rows and columns, with the SHA-256 of each value before and after, and says why.
"""

import hashlib
import json
from collections import defaultdict
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from readiness.evidence.in_migrations import RecordOfThatTime
from readiness.models import freeze, frozen
from readiness.version import VERSION

VERB = "corrected"
ORIGINAL_SAYING = {"snapshot", "digest", "rule_values", "issued_at", "number", "site", "report"}
"""What a report said stays for ever: its readers know every version of it (`snapshots.py`)."""


class NotCorrectable(Exception):
    """The row or column is none that a correction may change; the text says why."""


@contextmanager
def corrections(apps, why: str, using: str = "default") -> Iterator["Corrections"]:
    """Change issued rows inside; all of it and the entries, or nothing.

    `why` is one sentence for people, without names. The triggers are off inside only.
    """
    if not why.strip():
        raise NotCorrectable("Say why: the entry is read years later.")
    with freeze.without_triggers(using):
        record = Corrections(apps, using)
        yield record
        record.append_entries(why.strip())


class Corrections:
    """Collects what changes, by site."""

    def __init__(self, apps, using: str):
        self._apps, self._using = apps, using
        self._rows: dict[Any, list[dict]] = defaultdict(list)
        self._changed: dict[Any, list] = defaultdict(list)

    def change(self, row, **fields) -> None:
        """Set fields of one row; a value that is the same already changes nothing."""
        changed = {name: value for name, value in fields.items() if getattr(row, name) != value}
        for name in fields:
            _refuse(row, name)
        for name, value in changed.items():
            self._rows[_site_of(row)].append(
                {
                    "table": row._meta.db_table,
                    "row": str(row.pk),
                    "column": name,
                    "before": _digest(getattr(row, name)),
                    "after": _digest(value),
                }
            )
            setattr(row, name, value)
        if changed:
            self._changed[_site_of(row)].append(row)
            type(row)._base_manager.using(self._using).filter(pk=row.pk).update(**changed)

    def append_entries(self, why: str) -> None:
        record = RecordOfThatTime(self._apps, self._using)
        for site_id, rows in self._rows.items():
            data = {"reason": why, "version": VERSION, "rows": rows}
            record.append(site_id, VERB, data, record.forms_of(self._changed[site_id]))


def _refuse(row, name: str) -> None:
    column = row._meta.get_field(name).column
    if not frozen.is_frozen(row._meta.db_table, column):
        raise NotCorrectable(f"{name} of {row._meta.db_table} is not frozen: change it plainly.")
    if name in ORIGINAL_SAYING:
        raise NotCorrectable(f"{name} is what the report said when it was issued, and stays.")


def _site_of(row):
    for way in ("report", "item", "photo"):
        if not hasattr(row, "site_id") and hasattr(row, way):
            return _site_of(getattr(row, way))
    return row.site_id


def _digest(value) -> str:
    text = json.dumps(value, sort_keys=True, ensure_ascii=False, default=str)
    return hashlib.sha256(text.encode()).hexdigest()
