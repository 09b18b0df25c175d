"""The page of a site's quantities, and what the business's own houses took beside the rules."""

import re

import pytest
from django.urls import reverse

from readiness.insights import liquid
from readiness.models import Business
from readiness.rules.band.geometry import Joint
from tests.factories import make_draft, make_item, make_runs, make_site
from tests.insights.houses import treated
from tests.rules.walls import brick_wall

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _nothing_known():
    liquid._kept.clear()


@pytest.fixture
def site(applicator):
    site = make_site()
    make_runs(site, "North wall", "East wall", length_mm=6000)
    return site


def shown(client, site) -> str:
    page = client.get(reverse("office:quantities", args=[site.pk])).content.decode()
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", page))


def test_the_answer_is_a_range_and_what_to_carry(client_for, applicator, site):
    # common practice (no source): 1 L per 10 m for two courses. Two walls of 6 m: 1.2 L; 20 % less
    # is 0.96 L, 50 % more 1.8 L
    said = shown(client_for(applicator), site)
    assert "Expect 0.9 to 1.8 L on the walls: first fill 2 L, no refill. Carry 1 drum," in said
    assert "12 m of brick wall, 2 courses, at 1 L per 10 m for two courses" in said
    assert "20% less to 50% more than 1.2 L" in said
    assert "Estimated on all walls, where levels are missing" in said


def test_walls_and_joints_are_listed_as_the_band_has_them(client_for, applicator, site):
    # Level ground at -170 and joints at -86, -172, -258: the line is at -86 and two courses reach
    # down to -258. Brick from -172 up leaves one course: 6 m x 1 / 10 / 2 = 0.3 L, and a joint of
    # 86 mm: 12 x 6 x 86 mm = 6.2 mL.
    north = site.wall_runs.get(label="North wall")
    joints = (Joint(3000, 12),)
    levels = brick_wall((0, -170), bed_joint_mm=-86, brick_bottom_mm=-172, joints=joints)
    north.levels = levels.levels_as_dict()
    north.save()
    said = shown(client_for(applicator), site)
    assert "North wall 6 m, 1 course 0.30 L" in said
    assert "North wall, at 3 m 12 mm wide, 86 mm high. 16 mm 6 mL" in said
    assert "Estimated on East wall, where" in said


def test_what_cleaning_would_cost_is_said(client_for, applicator, site):
    Business.current()
    report = make_draft(applicator, site)
    north = site.wall_runs.get(label="North wall")
    make_item(applicator, report, kind="dirty_brick", run=north, effect="applicator")
    said = shown(client_for(applicator), site)
    assert "What we will do on the day" in said
    assert "About 20 minutes, AUD 30.00" in said


def test_with_too_few_houses_only_the_missing_ones_are_said(client_for, applicator, contact, site):
    treated(applicator, contact, 6000)
    said = shown(client_for(applicator), site)
    assert "Your own rate for brick: after 4 more treated houses that are all brick." in said
    assert "render" not in said.partition("What your own houses took")[2].partition("Wall by")[0]
    rules = shown_rules(client_for(applicator))
    assert "Your own rate for brick: after 4 more" in rules
    assert "Your own rate for render: after 5 more treated houses that are all render." in rules


def shown_rules(client) -> str:
    page = client.get(reverse("office:rules")).content.decode()
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", page))


def test_from_five_houses_on_the_own_rate_stands_beside_the_rule(
    client_for, applicator, contact, site
):
    # 60 m each: 0.9, 1.0, 1.1, 1.2 and 1.4 L per 10 m. Here 12 m: 1.32 L, from 1.08 to 1.68 L;
    # by the rule 1.2 L, with 10 % waste 1.32 L
    for number, used_ml in enumerate([5400, 6600, 7200, 6000, 8400]):
        treated(applicator, contact, used_ml, days=number * 7)
    own = (
        "Your last 5 brick houses took 1.1 L per 10 m of two courses in the middle, waste "
        "included. Expect 0.9 to 1.4 on the next one, two times in three. "
        "5 of them had walls that were not measured: those count with their whole length."
    )
    said = shown(client_for(applicator), site)
    assert own in said
    assert (
        "On the brick here that makes 1.3 L (1.1 to 1.7 L). By the rule value, with waste: 1.3 L."
    ) in said
    rules = shown_rules(client_for(applicator))
    assert rules.count(own) == 1
    assert rules.index("Liquid per 10 lineal metres") < rules.index(own)
    assert rules.index(own) < rules.index("Liquid per square metre of render")


def test_no_builder_reads_what_our_houses_took(client_for, contact, site):
    assert client_for(contact).get(reverse("office:rules")).status_code == 404
    page = reverse("office:quantities", args=[site.pk])
    assert client_for(contact).get(page).status_code == 404
