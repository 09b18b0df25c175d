"""What the business had set and an upgrade made impossible: shown to owners, used by nothing."""

import pytest
from django.urls import reverse

from portal.database_checks import check_rule_overrides
from readiness.actions.firm.rule_values import change_rule_values
from readiness.facts import rule_values
from readiness.models import Business
from tests.factories import make_applicator, make_issued

pytestmark = pytest.mark.django_db
STORED = {"due_working_days": 9, "old_thing_mm": 4, "tank_litres": "7.5", "gauge_min_mm": 50}


@pytest.fixture
def narrowed(db, later):
    Business.current()
    Business.objects.update(rule_overrides=STORED)
    later.change_rule("due_working_days", maximum=5)


def page_of(client):
    return " ".join(client.get(reverse("office:rules")).content.decode().split())


def test_an_owner_sees_what_was_set_and_what_is_used(narrowed, applicator, client_for):
    page = page_of(client_for(applicator))
    assert "Set earlier, not used now" in page
    assert (
        "9 working days is out of range. It can be from 0 working days to 5 working days. " in page
    )
    assert "2 working days is used instead." in page
    assert "Old thing mm: this value no longer exists." in page
    assert "Gauge min mm: this value no longer exists." in page
    assert rule_values()["tank_litres"] == 7.5


def test_a_value_that_is_looser_than_the_code_is_named_and_its_least_is_used(
    applicator, client_for
):
    Business.current()
    Business.objects.update(rule_overrides={"slab_above_soil_mm": 100, "ground_fall_mm": 60})
    page = page_of(client_for(applicator))
    assert (
        "Slab above finished soil: 100 mm is not enough. It has to be at least 150 mm (ABCB "
        "Housing Provisions 3.3.3(b)(iii), 2025). You can ask for more. 150 mm is used instead."
    ) in page
    assert (rule_values()["slab_above_soil_mm"], rule_values()["ground_fall_mm"]) == (150, 60)


def test_a_looser_value_is_refused_and_nothing_typed_is_lost(applicator, client_for):
    typed = {"slab_above_soil_mm": "100", "drying_hours": "48", "rod_diameters_mm": "6, 10"}
    page = page_of_answer(client_for(applicator).post(reverse("office:rules"), typed))
    assert "100 mm is not enough" in page
    for value in typed.values():
        assert f'value="{value}"' in page
    assert Business.current().rule_overrides == {}


def page_of_answer(answer):
    return " ".join(answer.content.decode().split())


def test_staff_who_cant_change_them_are_not_asked_to(narrowed, applicator, client_for):
    assert "Set before" not in page_of(client_for(make_applicator()))


def test_saving_the_page_settles_it(narrowed, applicator, client_for):
    client = client_for(applicator)
    sent = client.post(reverse("office:rules"), {"due_working_days": "5", "tank_litres": "7.5"})
    assert sent.status_code == 302
    assert Business.current().rule_overrides == {"due_working_days": 5, "tank_litres": "7.5"}
    assert "Set before" not in page_of(client)


def test_changing_another_value_works_and_drops_them(narrowed, applicator):
    change_rule_values(applicator, {"waste_percent": "12"})
    assert Business.current().rule_overrides == {"tank_litres": "7.5", "waste_percent": 12}


def test_work_goes_on_with_the_default(narrowed, applicator):
    report = make_issued(applicator)
    assert report.rule_values["due_working_days"] == 2
    assert report.snapshot["rule_values"]["due_working_days"] == 2


def test_the_check_after_an_upgrade_names_them(narrowed):
    (warning,) = check_rule_overrides(None, databases=["default"])
    assert "due_working_days, old_thing_mm and gauge_min_mm" in warning.msg


def test_nothing_is_said_where_nothing_is_wrong(applicator, client_for):
    assert check_rule_overrides(None, databases=["default"]) == []
    assert "Set before" not in page_of(client_for(applicator))
