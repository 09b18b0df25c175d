"""Changes what is frozen, then the process is gone, as with `kill -9` or a power cut."""

import os
import signal

from django.db import migrations, models

from tests.upgrades.newest import newest


def die(apps, schema_editor):
    os.kill(os.getpid(), signal.SIGKILL)


class Migration(migrations.Migration):
    dependencies = [newest()]

    operations = [
        migrations.AlterField("sitereport", "weather", models.CharField(max_length=150)),
        migrations.RunPython(die),
    ]
