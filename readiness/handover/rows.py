"""Rows of the database as plain JSON and back, without losing a microsecond."""

from datetime import date, datetime
from decimal import Decimal
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db.models import JSONField

from readiness.handover import BadExport


def to_plain(row, *, without=()) -> dict:
    """All stored columns of a row by name, those in ``without`` left out."""
    return {
        field.attname: _plain(getattr(row, field.attname))
        for field in row._meta.concrete_fields
        if field.attname not in without
    }


def _plain(value):
    if isinstance(value, datetime):
        return value.isoformat(timespec="microseconds")
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, UUID | Decimal):
        return str(value)
    return value


def from_plain(model, data: dict):
    """An unsaved row of ``model``; unknown columns are refused. Raises ``BadExport``."""
    fields = {field.attname: field for field in model._meta.concrete_fields}
    unknown = sorted(data.keys() - fields.keys())
    name = model._meta.verbose_name
    if unknown:
        raise BadExport(f"A {name} has columns that are not known here: {', '.join(unknown)}.")
    try:
        values = {key: _python(fields[key], value) for key, value in data.items()}
    except ValidationError as error:
        raise BadExport(f"A {name} has a value that makes no sense: {error.messages[0]}") from error
    return model(**values)


def _python(field, value):
    if value is None or isinstance(field, JSONField):
        return value
    return (field.target_field if field.is_relation else field).to_python(value)
