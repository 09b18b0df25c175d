"""The standalone index of an export, without the export around it."""

import pytest
from django.template.loader import render_to_string

from readiness.handover.along import WHOLE
from readiness.handover.pages import index_context
from readiness.rules.vocabulary import Caution
from readiness.wording.cautions import caution
from tests.factories import make_draft, make_issued, make_item, make_runs, make_site

pytestmark = pytest.mark.django_db


def index_of(site) -> str:
    return " ".join(render_to_string("handover/index.html", index_context(site, WHOLE)).split())


def test_a_fix_stands_with_the_cautions_that_other_pages_show_beside_it(applicator, builder):
    site = make_site(builder)
    make_issued(applicator, site, kinds=("soil_against_brick", "mortar_drop"))
    page = index_of(site)
    fix, after = page.index("brush the brick clean"), page.index("Item 2:")
    assert fix < page.index(f"Take care.</strong> {caution(Caution.SERVICES)}") < after


def test_of_what_is_only_on_record_it_asks_no_fix(applicator, builder):
    site = make_site(builder)
    make_runs(site)
    draft = make_draft(applicator, site)
    item = make_item(applicator, draft, kind="soil_against_brick", effect="record")
    page = index_of(site)
    assert "Item 1: Soil against brick" in page
    assert item.required_fix not in page
    assert "Take care" not in page
