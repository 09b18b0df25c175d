"""Write down the text by which the sites that are there already are found."""

import unicodedata

from django.db import migrations


def folded(text):
    plain = unicodedata.normalize("NFC", text.replace("\0", " "))
    return " ".join(unicodedata.normalize("NFC", plain.casefold()).split())


def fill(apps, schema_editor):
    Site = apps.get_model("readiness", "Site")
    batch = []
    for site in Site.objects.select_related("builder").order_by("pk").iterator(chunk_size=1000):
        address = f"{site.street}, {site.suburb} {site.state} {site.postcode}"
        words = (folded(address), folded(site.job_number), folded(site.builder.name))
        site.search_text = "{}\n{}\t{}".format(*words)
        batch.append(site)
        if len(batch) == 500:
            Site.objects.bulk_update(batch, ["search_text"])
            batch = []
    Site.objects.bulk_update(batch, ["search_text"])


class Migration(migrations.Migration):
    dependencies = [("readiness", "0009_site_search_text")]

    operations = [migrations.RunPython(fill, migrations.RunPython.noop)]
