"""A data step on issued reports, whose checks of keys wait until the end of the transaction."""

from django.db import migrations


def fill(apps, schema_editor):
    reports = apps.get_model("readiness", "SiteReport").objects
    reports.update(wind_kmh=10, notes="changed", prepared_by=None)
    items = apps.get_model("readiness", "DefectItem").objects
    items.update(required_fix="changed", decided_by=None)


class Migration(migrations.Migration):
    dependencies = [("readiness", "x001_rebuild_what_is_frozen")]

    operations = [migrations.RunPython(fill, migrations.RunPython.noop)]
