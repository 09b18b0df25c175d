"""Lists of what waits for us come in the order of each dispute's own day."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("readiness", "0012_spooled_originals")]

    operations = [
        migrations.RemoveIndex("defectitem", "item_disputed_since"),
        migrations.AddIndex(
            "defectitem",
            models.Index(
                fields=["disputed_at"],
                condition=models.Q(disputed_at__isnull=False, decided_at=None),
                name="item_disputed_on",
            ),
        ),
    ]
