"""A data step on issued rows, as a version might need it."""

from django.db import migrations

from readiness.evidence.corrections import corrections
from tests.upgrades.newest import newest

WHY = "An earlier version stored this measurement in cm."


def correct(apps, schema_editor):
    with corrections(apps, WHY, schema_editor.connection.alias) as record:
        for item in apps.get_model("readiness", "DefectItem").objects.exclude(measured_value=None):
            record.change(item, measured_value=item.measured_value * 10, kind=item.kind)


class Migration(migrations.Migration):
    dependencies = [newest()]

    operations = [migrations.RunPython(correct, migrations.RunPython.noop)]
