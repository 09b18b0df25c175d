"""What PostgreSQL alone has to be refused: emptying tables, and tables that stand in for ours."""

from django.db import connection

from readiness.models import freeze
from tests.evidence.frozen_rows import refused, rows

__all__ = ["rows"]


def test_no_frozen_table_is_truncated(rows):
    def truncate(table):
        with connection.cursor() as cursor:
            cursor.execute(f"SET CONSTRAINTS ALL IMMEDIATE; TRUNCATE {table} CASCADE")

    for table in (*freeze.TABLES.values(), "readiness_site"):
        assert refused(lambda table=table: truncate(table)), table


def test_a_temporary_table_does_not_stand_in_for_the_reports(rows):
    item = next(row.row for row in rows if row.called == "item")
    with connection.cursor() as cursor:
        cursor.execute("CREATE TEMP TABLE readiness_sitereport (id uuid, issued_at timestamptz)")
    assert refused(lambda: type(item).objects.filter(pk=item.pk).update(required_fix="Nothing."))
