"""From here on the Record holds each row by its digest: what is there now, by one entry a site."""

from django.db import migrations

from readiness.evidence.in_migrations import RecordOfThatTime


def begin(apps, schema_editor):
    RecordOfThatTime(apps, schema_editor.connection.alias).begin()


class Migration(migrations.Migration):
    dependencies = [("readiness", "0021_people_who_sign")]

    operations = [migrations.RunPython(begin, migrations.RunPython.noop, elidable=False)]
