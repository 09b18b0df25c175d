"""Each rule of `readiness.models.frozen`: what the database itself refuses, column by column.

Through the ORM on whatever database the tests use; tests/test_postgres.py runs it on PostgreSQL.
"""

import uuid
from datetime import date, timedelta

import pytest
from django.db import models

from readiness.models import Photo, freeze
from tests.evidence.frozen_rows import NOW, refused, rows

__all__ = ["rows"]


def another_value(of: models.Field, value):
    """A value that the column can hold and does not."""
    if of.is_relation:
        return another_value(of.target_field, value)
    if of.choices:
        return next(code for code, _name in of.flatchoices if code != value)
    if isinstance(of, models.UUIDField):
        return uuid.uuid4()
    if isinstance(of, models.JSONField):
        return {"other": True}
    if isinstance(of, models.BooleanField):
        return not value
    if isinstance(of, models.DateTimeField):
        return (value or NOW) + timedelta(days=1)
    if isinstance(of, models.DateField):
        return (value or date(2026, 11, 23)) + timedelta(days=1)
    if isinstance(of, models.IntegerField | models.DecimalField):
        return (value or 0) + 1
    if isinstance(of, models.GenericIPAddressField):
        return "192.0.2.7"
    return f"{value}x"[-of.max_length :] if of.max_length else f"{value}x"


def test_each_table_of_the_rules_has_rows_here(rows):
    assert {row.row._meta.db_table for row in rows} == set(freeze.TABLES.values())
    assert freeze.missing() == []


def test_each_column_changes_where_it_may_and_nowhere_else(rows):
    wrong = []
    for row in rows:
        mine = type(row.row)._base_manager.filter(pk=row.row.pk)
        stored = mine.get()
        for column in row.columns:
            value = another_value(column, getattr(stored, column.attname))

            def change(mine=mine, column=column, value=value):
                mine.update(**{column.attname: value})

            if refused(change) == row.may_change(column.attname):
                wrong.append(f"{row.called}: {column.attname}")
    assert wrong == []


def test_only_what_may_go_is_deleted(rows):
    wrong = []
    for row in rows:
        mine = type(row.row)._base_manager.filter(pk=row.row.pk)
        if refused(lambda mine=mine: mine._raw_delete(mine.db)) == row.goes:
            wrong.append(row.called)
    assert wrong == []


@pytest.mark.long
def test_the_place_of_a_photo_goes_with_it_and_never_moves(rows):
    photo = next(row.row for row in rows if row.called == "photo")
    mine = Photo.objects.filter(pk=photo.pk)
    assert refused(lambda: mine.update(latitude=None, longitude=None))
    assert refused(lambda: mine.update(latitude=1, longitude=1, removed_at=NOW))
    assert not refused(lambda: mine.update(latitude=None, longitude=None, removed_at=NOW))


@pytest.mark.long
def test_nothing_is_moved_into_an_issued_report(rows):
    """A draft's items and checks stay out of it."""
    by_name = {row.called: row.row for row in rows}
    issued = by_name["issued report"]
    for name in ("draft item", "draft check"):
        mine = type(by_name[name])._base_manager.filter(pk=by_name[name].pk)
        assert refused(lambda mine=mine: mine.update(report=issued))
