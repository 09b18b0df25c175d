"""What the code of a state or territory adds is noted on sites there, and nowhere else."""

import pytest
from django.urls import reverse

from readiness.models import Business
from readiness.papers import sample
from readiness.rules.site.local_rules import LocalRule, local_notes
from readiness.rules.vocabulary import STATES
from readiness.wording.local_rules import for_office, for_papers


def test_the_northern_territory_warns_that_a_wall_face_is_no_covered_trench():
    # ABCB Housing Provisions 2022, NT 3.4.2(e) (seen): a strip at least 50 mm thick, 300 mm wide
    ((said, warns),) = for_office("NT")
    assert warns
    for words in ("at least 50 mm thick and 300 mm wide", "does not match that", "NT 3.4.2(e)"):
        assert words in said
    assert "ABCB Housing Provisions 2022" in said


def test_queensland_asks_for_50_years_of_the_whole_system():
    # ABCB Housing Provisions 2022, QLD 3.4.1(4) (seen)
    ((said, warns),) = for_office("QLD")
    assert not warns
    assert "design life of at least 50 years" in said
    assert "QLD 3.4.1(4)" in said
    assert "only a part of that system" in said


@pytest.mark.parametrize("state", sorted(STATES.keys() - {"NT", "QLD"}))
def test_nothing_is_said_where_nothing_was_read(state):
    """Of Tasmania only local days off are known, which are no matter of the code."""
    assert for_office(state) == []
    assert for_papers(state) == []


def test_each_rule_is_of_a_state_and_said_to_both():
    notes = [note for state in STATES for note in local_notes(state)]
    assert {note.rule for note in notes} == set(LocalRule)
    assert all(note.edition and note.clause for note in notes)
    for state in ("NT", "QLD"):
        assert len(for_office(state)) == len(for_papers(state)) == 1


@pytest.mark.django_db
@pytest.mark.parametrize(("state", "said"), [("NT", True), ("QLD", True), ("TAS", False)])
def test_the_page_of_a_site_says_it(client_for, applicator, site, state, said):
    site.state = state
    site.save()
    page = client_for(applicator).get(reverse("office:site", args=[site.pk])).content.decode()
    assert ("ABCB Housing Provisions 2022" in page) is said


@pytest.mark.django_db
@pytest.mark.parametrize("kind", ["site_report", "treatment"])
def test_papers_about_a_site_there_say_it(kind):
    draft = sample.sample(kind, Business.current())  # of a site in Queensland
    assert draft.context["local_notes"] == for_papers("QLD")
    assert draft.data["local_notes"] == for_papers("QLD")
