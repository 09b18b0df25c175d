"""Sites that are there already have no rank yet: have it worked out where it is read."""

from django.db import migrations
from django.utils import timezone


def mark(apps, schema_editor):
    Site = apps.get_model("readiness", "Site")
    Site.objects.filter(closed_at=None).update(need_until=timezone.now())


class Migration(migrations.Migration):
    dependencies = [("readiness", "0007_site_need")]

    operations = [migrations.RunPython(mark, migrations.RunPython.noop)]
