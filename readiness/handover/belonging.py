"""Whether all rows of an export belong to its one site: none may reach into what is here."""

import re
from typing import Any

from django.db.models import Model

from readiness.handover import BadExport
from readiness.models import Checkpoint, Invitation, Original, Paper

Rows = dict[str, list[Any]]
DIGEST = re.compile(r"[0-9a-f]{64}")
ELSEWHERE = (Checkpoint, Invitation)
"""What rows may name that does not go along: an import leaves it out. So it does with the photo of
another site that a flag names."""


def check_belongs(rows: Rows, site_id: str) -> None:
    """Raises BadExport with the first row that belongs to something else."""
    if [str(row.pk) for row in rows["site"]] != [site_id]:
        raise BadExport("The export holds another site than its manifest says.")
    if [row.pk for row in rows["builder"]] != [rows["site"][0].builder_id]:
        raise BadExport("The export holds another builder than its site's.")
    there = _keys(rows)
    for one in (row for part in rows.values() for row in part):
        for field in one._meta.concrete_fields:
            if field.related_model in (None, *ELSEWHERE) or field.name == "other_photo":
                continue
            value = getattr(one, field.attname)
            if value is not None and value not in there.get(field.related_model, ()):
                name = one._meta.verbose_name
                raise BadExport(f"A {name} names a {field.name} that is not in the export.")
    _check_files(rows)


def _keys(rows: Rows) -> dict[type[Model], set]:
    there: dict[type[Model], set] = {}
    for part in rows.values():
        for row in part:
            keys = there.setdefault(type(row), set())
            if row.pk is not None and row.pk in keys:
                raise BadExport(f"A {row._meta.verbose_name} is there twice.")
            keys.add(row.pk)
    return there


def _check_files(rows: Rows) -> None:
    """A file's place in the stores follows from its digest, whatever a row says."""
    original: Original
    for original in rows["originals"]:
        if not DIGEST.fullmatch(original.digest):
            raise BadExport("An original has a digest that is none.")
    paper: Paper
    for paper in rows["papers"]:
        if paper.state == Paper.State.MADE and (
            not DIGEST.fullmatch(paper.digest)
            or not re.fullmatch(rf"../{paper.digest}\w*\.pdf", paper.storage_name, re.ASCII)
            or not paper.storage_name.startswith(paper.digest[:2])
        ):
            raise BadExport("A paper lies where no paper lies.")
