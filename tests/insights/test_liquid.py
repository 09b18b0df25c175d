"""The business's own rates, out of what its treatments took."""

from datetime import timedelta
from fractions import Fraction

import pytest

from readiness import clock
from readiness.actions import referrals
from readiness.actions.sites import sites
from readiness.evidence.record import append
from readiness.insights import liquid
from readiness.insights.liquid import own_rates
from readiness.models import Booking
from readiness.models.verbs import Verb
from readiness.rules.band.own_rates import FinishGroup
from tests.factories import make_runs, make_site
from tests.insights.houses import FIRST, treated

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _nothing_known():
    liquid._kept.clear()


def rates() -> list[Fraction]:
    """Of each house that tells of one, the latest first."""
    return [house.rate for house in own_rates().houses]


def test_five_brick_houses_give_a_rate_and_four_do_not(applicator, contact):
    # 60 m of two courses are 6 stretches of 10 m: 5.4 L make 0.9 L for each
    for number, used_ml in enumerate([5400, 6600, 7200, 6000]):
        treated(applicator, contact, used_ml, days=number * 7)
    assert own_rates().of(FinishGroup.BRICK) is None
    assert own_rates().missing(FinishGroup.BRICK) == 1
    treated(applicator, contact, 8400, days=28)
    rate = own_rates().of(FinishGroup.BRICK)
    assert (rate.houses, rate.estimated) == (5, 5)
    assert (rate.low, rate.middle, rate.high) == (
        Fraction(9, 10), Fraction(11, 10), Fraction(14, 10),
    )  # fmt: skip
    assert own_rates().missing(FinishGroup.RENDER) == 5


def test_the_walls_are_those_of_the_report_that_the_treatment_relied_on(applicator, contact):
    booked = treated(applicator, contact, 6000)
    with clock.at(FIRST + timedelta(days=1)):
        longer = sites.RunEntry("Wall", 90_000, "face_brick")
        sites.set_wall_runs(applicator, booked.site, [longer])
    assert rates() == [1]


def test_a_wall_that_nobody_can_reach_takes_no_liquid(applicator, contact):
    """30 of 60 m: 6 L over three stretches of 10 m."""
    site = make_site(contact.memberships.get().builder)
    (wall,) = make_runs(site, "Wall", length_mm=60_000)
    applicator.licence_number = "T-2208"
    applicator.save()
    with clock.at(FIRST - timedelta(days=1)):
        found = referrals.note_no_access(
            applicator, wall, cause="boundary", from_mm=0, to_mm=30_000
        )
        referrals.decide_referral(applicator, found, outcome="not_treated", reason="Fence.")
    treated(applicator, contact, 6000, site=site)
    assert rates() == [2]


def test_a_house_of_brick_and_render_tells_of_neither(applicator, contact):
    site = make_site(contact.memberships.get().builder)
    porch = make_runs(site, "Front", "Porch")[1]
    porch.finish = "render"
    porch.save()
    treated(applicator, contact, 6000, site=site)
    assert rates() == []


def test_a_second_treatment_of_a_house_is_left_out(applicator, contact):
    first = treated(applicator, contact, 6000)
    treated(applicator, contact, 500, days=7, site=first.site)
    assert Booking.objects.filter(state="treated").count() == 2
    assert rates() == [1]


def test_a_treatment_that_came_in_with_a_site_from_elsewhere_is_left_out(applicator, contact):
    booked = treated(applicator, contact, 6000)
    with clock.at(FIRST + timedelta(days=30)):
        append(booked.site, applicator, Verb.IMPORTED, {})
    assert rates() == []


def test_a_site_from_elsewhere_that_we_treated_counts(applicator, contact):
    site = make_site(contact.memberships.get().builder)
    make_runs(site, "Wall", length_mm=60_000)
    with clock.at(FIRST - timedelta(days=30)):
        append(site, applicator, Verb.IMPORTED, {})
    treated(applicator, contact, 6000, site=site)
    assert rates() == [1]


def test_only_the_last_houses_count(applicator, contact, monkeypatch):
    monkeypatch.setattr(liquid, "MOST_HOUSES", 2)
    for number, used_ml in enumerate([6000, 12_000, 3000]):
        treated(applicator, contact, used_ml, days=number * 7)
    assert rates() == [Fraction(1, 2), 2]


def test_the_number_of_queries_does_not_grow_with_the_houses(
    applicator, contact, django_assert_num_queries
):
    with django_assert_num_queries(1):
        own_rates()
    for count in (1, 2):
        treated(applicator, contact, 6000, days=count * 7)
        liquid._kept.clear()
        with django_assert_num_queries(2):
            assert len(own_rates().houses) == count
    with django_assert_num_queries(1):
        own_rates()


def test_a_house_that_is_known_already_is_not_worked_out_again(applicator, contact, monkeypatch):
    treated(applicator, contact, 6000)
    found = own_rates()
    monkeypatch.setattr(liquid, "treated_house", None)  # what is called anyway fails
    assert own_rates() == found


def test_another_house_with_another_amount_is_another(applicator, contact):
    booked = treated(applicator, contact, 6000)
    assert rates() == [1]
    treated(applicator, contact, 9000, days=7)
    assert rates() == [Fraction(3, 2), 1]
    assert set(liquid._kept) == {
        (report.digest, used_ml)
        for report, used_ml in [
            (booked.confirmation.report, 6000),
            (Booking.objects.get(used_ml=9000).confirmation.report, 9000),
        ]
    }
