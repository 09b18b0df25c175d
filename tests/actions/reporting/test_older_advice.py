"""Advice of earlier versions: what it lacked is said beside it, what it had is not said twice.

Common practice (no source): a joint that must move takes no mortar.
"""

from importlib import import_module

import pytest
from django.apps import apps
from django.urls import reverse

from readiness.actions.reporting import carrying
from readiness.models import DefectItem, SiteReport
from readiness.models.freeze import without_triggers
from readiness.rules.vocabulary import Caution
from readiness.wording.cautions import caution, of_item
from tests.factories import make_draft, make_issued, make_item

pytestmark = pytest.mark.django_db

OLD = "Rake out loose mortar and fill the joints solid to the face at 1 m, then brush off."
NO_MORTAR = "No mortar in an articulation joint, against a frame or round a pipe: ask us first."
CARE = f"{NO_MORTAR} Keep the dust down and wear a mask: it holds silica."


@pytest.fixture
def old_item(applicator, site):
    """An open item as an installation of version 0.1 has issued it."""
    item = make_issued(applicator, site, kinds=("unfilled_joint",)).items.get()
    with without_triggers():
        DefectItem.objects.filter(pk=item.pk).update(required_fix=OLD)
    item.refresh_from_db()
    return item


def test_the_builder_reads_beside_it_where_no_mortar_may_go(client_for, contact, old_item):
    client = client_for(contact)
    for page in (
        reverse("builder:site", args=[old_item.report.site_id]),
        reverse("builder:report_fixed", args=[old_item.pk]),
    ):
        text = client.get(page).content.decode()
        assert "Rake out loose mortar" in text
        assert NO_MORTAR in text


def test_words_that_say_it_are_not_said_twice(client_for, contact, old_item):
    """Version 0.2 said in the fix itself what is said beside it now, in other words of late."""
    item = old_item
    with without_triggers():
        DefectItem.objects.filter(pk=item.pk).update(required_fix=f"{OLD} {CARE}")
    page = client_for(contact).get(reverse("builder:report_fixed", args=[item.pk])).content.decode()
    assert page.count("ask us first") == 1
    assert page.count("silica") == 1


def test_it_is_carried_over_as_it_stands_and_its_cautions_are_said_beside_it(applicator, old_item):
    draft = make_draft(applicator, old_item.report.site)
    current = SiteReport.objects.current().get(site=draft.site)
    carried = carrying.carry(draft, current, old_item, 7)
    assert carried.required_fix == OLD
    assert of_item(carried) == (NO_MORTAR, caution(Caution.SILICA))


def test_drafts_of_the_first_version_are_completed_and_issued_items_left(
    applicator, old_item, site
):
    draft = make_draft(applicator, site)
    item = make_item(applicator, draft, kind="unfilled_joint")
    DefectItem.objects.filter(pk=item.pk).update(required_fix=OLD)
    complete = import_module("readiness.migrations.0011_no_mortar_in_drafts").complete
    complete(apps, None)
    complete(apps, None)
    item.refresh_from_db()
    old_item.refresh_from_db()
    assert item.required_fix == f"{OLD} {CARE}"
    assert old_item.required_fix == OLD
