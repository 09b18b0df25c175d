"""Defect items from measured levels, and the business's own rule values."""

import pytest
from django.core.exceptions import PermissionDenied

from readiness.actions.errors import Refused
from readiness.actions.firm.rule_values import change_rule_values
from readiness.actions.reporting.proposals import ALL, add_all_proposed, add_proposed_items
from readiness.actions.sites.sites import set_levels
from readiness.facts import rule_values, run_facts
from readiness.models import Business, SiteReport
from readiness.rules.defects.proposals import proposed_items
from tests.factories import make_applicator, make_draft, make_runs, make_site
from tests.rules.walls import brick_wall, rendered_wall

pytestmark = pytest.mark.django_db

LOW = rendered_wall((0, -175), (2399, -175), (2400, -140), (5100, -140), (5101, -175))


@pytest.fixture
def low_wall(applicator):
    (run,) = make_runs(make_site(), "East wall", length_mm=6000, finish="render")
    return set_levels(applicator, run, LOW.levels_as_dict())


def test_a_shortfall_becomes_an_item_with_its_millimetres(applicator, low_wall):
    draft = make_draft(applicator, low_wall.site)
    (item,) = add_proposed_items(applicator, low_wall, [ALL])
    assert item.report == draft
    assert (item.kind, item.from_mm, item.to_mm) == ("render_line_low", 2399, 5101)
    assert (item.measured_value, item.measured_from, item.effect) == (40, "tape", "holds")
    assert "Cut a new one 35 mm higher" in item.required_fix
    assert item.due_on is not None


def test_a_draft_is_started_where_there_is_none(applicator, low_wall):
    (item,) = add_proposed_items(applicator, low_wall, [ALL])
    assert item.report == SiteReport.objects.drafts().get(site=low_wall.site)


def test_the_same_proposal_tapped_twice_is_one_item(applicator, low_wall):
    (proposal,) = proposed_items(run_facts(low_wall), rule_values())
    once = add_proposed_items(applicator, low_wall, [proposal.key])
    assert add_proposed_items(applicator, low_wall, [proposal.key]) == once


def test_what_the_levels_no_longer_show_is_refused(applicator, low_wall):
    with pytest.raises(Refused, match="no longer show"):
        add_proposed_items(applicator, low_wall, ["render_line_low-1-2"])
    assert not SiteReport.objects.exists()


def test_only_the_applicators_staff_add_items(contact, low_wall):
    with pytest.raises(PermissionDenied):
        add_proposed_items(contact, low_wall, [ALL])


def test_an_owner_sets_a_rule_value_and_blanks_it_again(applicator):
    change_rule_values(applicator, {"line_above_ground_mm": "100", "tank_litres": "7.5"})
    assert rule_values()["line_above_ground_mm"] == 100
    assert Business.current().rule_overrides == {"line_above_ground_mm": 100, "tank_litres": "7.5"}
    change_rule_values(applicator, {"line_above_ground_mm": " "})
    assert Business.current().rule_overrides == {"tank_litres": "7.5"}
    assert rule_values()["line_above_ground_mm"] == 75


def test_a_value_equal_to_its_default_is_not_kept_as_changed(applicator):
    change_rule_values(applicator, {"drying_hours": "24", "rod_diameters_mm": "6, 10"})
    assert Business.current().rule_overrides == {"rod_diameters_mm": [6, 10]}
    assert rule_values()["rod_diameters_mm"] == (6, 10)


def test_every_value_that_cant_be_used_is_named_and_none_is_saved(applicator):
    with pytest.raises(Refused) as caught:
        change_rule_values(
            applicator, {"line_above_ground_mm": "10", "drying_hours": "x", "cartridge_ml": "300"}
        )
    assert [p.about_id for p in caught.value.problems] == ["line_above_ground_mm", "drying_hours"]
    assert Business.current().rule_overrides == {}


def test_staff_who_are_not_owners_cant_change_rule_values(db):
    with pytest.raises((PermissionDenied, Refused)):
        change_rule_values(make_applicator(), {"drying_hours": "48"})


def test_all_walls_proposals_are_taken_over_at_once_and_only_once(applicator, low_wall):
    brick = make_runs(low_wall.site, "Brick wall", length_mm=6000)[0]
    set_levels(applicator, brick, brick_wall((0, -200)).levels_as_dict())
    added = add_all_proposed(applicator, low_wall.site)
    assert {item.kind for item in added} == {"render_line_low", "soil_against_brick"}
    soil = next(item for item in added if item.kind == "soil_against_brick")
    # 58 mm over the bottom of the band along 6 m: 0.0522 m3, said up
    assert soil.required_fix.startswith("Clear soil 58 mm deep along 6 m (about 0.06 m³)")
    with pytest.raises(Refused):
        add_all_proposed(applicator, low_wall.site)
    assert soil.report.items.count() == len(added)
