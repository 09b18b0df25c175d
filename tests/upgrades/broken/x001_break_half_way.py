"""Changes what is frozen, then fails."""

from django.db import migrations, models

from tests.upgrades.newest import newest


def fail(apps, schema_editor):
    raise RuntimeError("half-way")


class Migration(migrations.Migration):
    dependencies = [newest()]

    operations = [
        migrations.AlterField("sitereport", "weather", models.CharField(max_length=150)),
        migrations.RunPython(fail),
    ]
