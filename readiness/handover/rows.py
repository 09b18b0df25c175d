"""Rows of the database as plain JSON and back, without losing a microsecond."""

from collections.abc import Collection
from datetime import date, datetime
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.core.exceptions import ValidationError
from django.core.validators import BaseValidator
from django.db.models import Field, JSONField, Model

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


def from_plain(model: type[Model], data: dict, *, without: Collection[str] = ()):
    """An unsaved row of ``model``. Raises ``BadExport`` where a column is not one that an export
    has, or its value not as we would have written it.
    """
    fields = {f.attname: f for f in model._meta.concrete_fields if f.attname not in without}
    unknown = sorted(data.keys() - fields.keys())
    name = model._meta.verbose_name
    if unknown:
        raise BadExport(f"A {name} has columns that no export has: {', '.join(unknown)}.")
    return model(**{key: _python(fields[key], value, name) for key, value in data.items()})


def _python(field: Field, value: Any, name: Any):
    """The value as the database takes it, if it is of the column's type and within its bounds."""
    column: Any = field
    stored = column.target_field if column.is_relation else column
    if (value is None and field.null) or isinstance(field, JSONField):
        return value
    try:
        made = stored.to_python(value)
        if type(_plain(made)) is not type(value) or _plain(made) != value:
            raise ValidationError("It is not written as an export writes it.")
        for validator in stored.validators:
            if isinstance(validator, BaseValidator):  # lengths and numbers
                validator(made)
        if field.choices and made not in dict(field.flatchoices) and made != "":
            raise ValidationError("It is not one of the choices.")
    except (ValidationError, ValueError, TypeError, ArithmeticError, AttributeError) as error:
        said = error.messages[0] if isinstance(error, ValidationError) else "It can't be read."
        raise BadExport(f"A {name} has a {field.name} that makes no sense: {said}") from error
    return made
