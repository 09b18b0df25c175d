"""PostgreSQL's own index for searches, and doing without it."""

import pytest
from django.db import connection

from portal.database_checks import check_search_index
from readiness.models import Site, search
from tests.factories import make_site

pytestmark = pytest.mark.django_db


def test_the_index_is_there_after_migrating():
    assert search.is_indexed(connection)


def test_a_piece_of_a_word_is_found_by_index(builder):
    for _ in range(50):
        make_site(builder)
    with connection.cursor() as cursor:
        cursor.execute("SET LOCAL enable_seqscan = off")
    plan = Site.objects.matching("llowood").order_by().explain()
    assert search.INDEX in plan


def test_without_the_extension_migrating_goes_on_and_the_check_says_so():
    with connection.cursor() as cursor:
        cursor.execute("DROP EXTENSION pg_trgm CASCADE")
        cursor.execute("CREATE ROLE poor")
        cursor.execute("GRANT ALL ON ALL TABLES IN SCHEMA public TO poor")
        cursor.execute("SET ROLE poor")
    try:
        search.install()
        [warning] = check_search_index(None, databases=["default"])
        assert warning.id == "portal.W005"
        assert list(Site.objects.matching("quoll")) == []
    finally:
        with connection.cursor() as cursor:
            cursor.execute("RESET ROLE")
    search.install()
    assert check_search_index(None, databases=["default"]) == []
