"""What an upgrade corrects."""

from django.apps import apps

from readiness.evidence.corrections import corrections
from readiness.models import RecordEntry
from tests.actions.cases.base import Case, case


@case(corrections, "corrected")
def _(cast):
    item = cast.item()

    def correct():
        with corrections(apps, "It was stored in cm.") as record:
            record.change(item, from_mm=500)

    def entries(_none):
        data = RecordEntry.objects.get(verb="corrected").data
        (row,) = data["rows"]
        assert (row["row"], row["column"]) == (str(item.pk), "from_mm")
        assert data["reason"] == "It was stored in cm."
        return [data]

    return Case(correct, None, entries)
