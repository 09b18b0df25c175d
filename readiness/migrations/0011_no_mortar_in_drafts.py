"""Completes the fixes of drafts that ask for mortar: version 0.1 did not say where none may go.

Issued items keep their words.
"""

from django.db import migrations

NO_MORTAR = "No mortar in an articulation joint, against a frame or round a pipe: ask us first."
DUST = "Keep the dust down and wear a mask: it holds silica."
CARE = {"gap_too_wide": NO_MORTAR, "unfilled_joint": f"{NO_MORTAR} {DUST}"}


def complete(apps, schema_editor):
    DefectItem = apps.get_model("readiness", "DefectItem")
    drafted = DefectItem.objects.filter(report__issued_at=None, kind__in=CARE)
    for item in drafted.filter(required_fix__icontains="mortar").exclude(
        required_fix__contains="No mortar"
    ):
        item.required_fix = f"{item.required_fix.rstrip()} {CARE[item.kind]}"
        item.save(update_fields=["required_fix"])


class Migration(migrations.Migration):
    dependencies = [("readiness", "0010_fill_search_text")]
    operations = [migrations.RunPython(complete, migrations.RunPython.noop)]
