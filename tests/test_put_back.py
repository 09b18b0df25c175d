"""After a test with transactions of its own the tests' database is what it was before."""

import pytest
from django.contrib.auth.models import Permission
from django.core.cache import cache
from django.db import IntegrityError, connection

from readiness.models import Builder, RecordEntry
from tests import migrated
from tests.factories import make_applicator, make_issued


@pytest.mark.skipif("connection.vendor != 'sqlite'", reason="Others are emptied by Django.")
def test_what_was_written_is_gone_and_what_refuses_is_there(transactional_db, monkeypatch):
    monkeypatch.setattr("readiness.actions.papers.asking.enqueue", lambda paper: None)
    permissions = Permission.objects.count()
    make_issued(make_applicator())
    cache.set("asked", 1)
    Permission.objects.all().delete()
    migrated.put_back(connection)
    assert not Builder.objects.exists()
    assert not RecordEntry.objects.exists()
    assert cache.get("asked") is None
    assert Permission.objects.count() == permissions > 0
    make_issued(make_applicator())
    with pytest.raises(IntegrityError):
        RecordEntry.objects.update(verb="other")
