"""Changes that SQLite makes by building a table anew, on each table that a trigger guards."""

from django.db import migrations, models

from tests.upgrades.newest import newest


class Migration(migrations.Migration):
    dependencies = [newest()]

    operations = [
        migrations.AlterField("sitereport", "weather", models.CharField(max_length=150)),
        migrations.AddField("sitereport", "wind_kmh", models.PositiveIntegerField(null=True)),
        migrations.AlterField("defectitem", "note", models.CharField(max_length=9000)),
        migrations.AlterField("runcheck", "note", models.CharField(max_length=300)),
        migrations.AlterField("recordentry", "verb", models.CharField(max_length=50)),
        migrations.RenameField("site", "job_number", "order_number"),
    ]
