"""Kinds and rule values that a later version takes out or renames, under data of an earlier one."""

import pytest

from readiness.actions.errors import Refused
from readiness.actions.reporting import drafts
from readiness.models import BuilderContact, DefectItem, Paper, SiteReport, User
from readiness.papers.render import render_paper
from readiness.rules.defects.catalogue import KINDS
from tests.upgrades.walk import FOR_BUILDERS, FOR_STAFF, broken, opened


@pytest.fixture
def without_any_kind_in_use(upgraded, later):
    """The data has items of these kinds, and the catalogue has none of them any more."""
    kinds = set(DefectItem.objects.values_list("kind", flat=True))
    assert kinds <= KINDS.keys()
    for slug in kinds:
        later.take_out_kind(slug)
    for slug in list(KINDS):
        later.change_kind(slug, name=f"{KINDS[slug].name} (new)")
    later.change_rule("due_working_days", maximum=1, default=1)  # the business had set 3
    return kinds


@pytest.mark.long
def test_every_page_still_opens(without_any_kind_in_use, client_for):
    owner = User.objects.get(is_owner=True)
    assert broken(opened(client_for(owner), owner, FOR_STAFF)) == set()
    for contact in BuilderContact.objects.filter(user__is_active=True):
        codes = opened(client_for(contact.user), contact.user, FOR_BUILDERS)
        assert broken(codes) == set(), contact


@pytest.mark.long
def test_every_paper_is_still_made(without_any_kind_in_use):
    for paper in Paper.objects.all():
        assert render_paper(paper).pages


@pytest.mark.long
def test_no_new_item_of_such_a_kind_is_added(without_any_kind_in_use):
    owner, draft = User.objects.get(is_owner=True), SiteReport.objects.get(issued_at=None)
    with pytest.raises(Refused, match="not in the list any more"):
        drafts.add_item(
            owner,
            draft,
            kind=min(without_any_kind_in_use),
            wall_run=draft.site.wall_runs.first(),
        )
