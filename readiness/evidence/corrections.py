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
from datetime import UTC, datetime
from typing import Any

from readiness.models import freeze
from readiness.models.record import GENESIS, digest_of
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
            type(row)._base_manager.using(self._using).filter(pk=row.pk).update(**changed)

    def append_entries(self, why: str) -> None:
        for site_id, rows in self._rows.items():
            self._append(site_id, {"reason": why, "version": VERSION, "rows": rows})

    def _append(self, site_id, data: dict) -> None:
        model = self._apps.get_model("readiness", "RecordEntry")
        entries = model._base_manager.using(self._using)
        last = entries.filter(site_id=site_id).order_by("-sequence").first()
        entry = model(
            site_id=site_id,
            sequence=last.sequence + 1 if last else 1,
            at=datetime.now(UTC),
            verb=VERB,
            data=data,
            previous_digest=last.digest if last else GENESIS,
        )
        entry.digest = digest_of(entry)
        entry.save(force_insert=True, using=self._using)


def _refuse(row, name: str) -> None:
    frozen = {
        column.removesuffix("_id")
        for _, table, event, columns, *_ in freeze.RULES
        if table == row._meta.db_table and event == "UPDATE"
        for column in columns
    }
    if name not in frozen:
        raise NotCorrectable(f"{name} of {row._meta.db_table} is not frozen: change it plainly.")
    if name in ORIGINAL_SAYING:
        raise NotCorrectable(f"{name} is what the report said when it was issued, and stays.")


def _site_of(row):
    return row.site_id if hasattr(row, "site_id") else row.report.site_id


def _digest(value) -> str:
    text = json.dumps(value, sort_keys=True, ensure_ascii=False, default=str)
    return hashlib.sha256(text.encode()).hexdigest()
