"""Say of the sites that are there already for whom something waits on them."""

from django.db import migrations
from django.db.models import Exists, OuterRef, Q


def mark(apps, schema_editor):
    Site = apps.get_model("readiness", "Site")
    DefectItem = apps.get_model("readiness", "DefectItem")
    items = DefectItem.objects.filter(
        report__site=OuterRef("pk"), report__issued_at__isnull=False, report__superseded_at=None
    )
    disputed = Q(disputed_at__isnull=False, decided_at=None)
    to_review = items.filter(
        Q(state="said_fixed") | disputed & Q(state__in=("to_fix", "said_fixed", "sent_back"))
    )
    to_fix = items.filter(effect="holds", state__in=("to_fix", "sent_back")).exclude(disputed)
    Site.objects.filter(Exists(to_review)).update(to_review=True)
    Site.objects.filter(Exists(to_fix)).update(to_fix=True)


class Migration(migrations.Migration):
    dependencies = [("readiness", "0014_lists_by_index")]

    operations = [migrations.RunPython(mark, migrations.RunPython.noop)]
