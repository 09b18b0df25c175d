"""The same where the migration has no transaction; run by itself (`--fake` the one before)."""

from django.db import migrations


def fail(apps, schema_editor):
    apps.get_model("readiness", "SiteReport").objects.update(notes="changed")
    raise RuntimeError("half-way")


class Migration(migrations.Migration):
    atomic = False
    dependencies = [("readiness", "x001_break_half_way")]

    operations = [migrations.RunPython(fail)]
