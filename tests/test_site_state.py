"""A site read for a list stands as it does when it is read whole."""

from datetime import timedelta

import pytest
from django.utils import timezone

from readiness import clock
from readiness.actions.fixing import fixes
from readiness.demo.houses import COURTYARD, sound_levels
from readiness.facts import SiteState
from readiness.models import Booking, WallRun
from tests.factories import (
    confirm,
    make_issued,
    make_photo,
    make_runs,
    make_site,
)

pytestmark = pytest.mark.django_db
NOW = timezone.now()


def with_nothing(applicator, contact, site):
    pass


def with_walls(applicator, contact, site):
    make_runs(site)


def with_levels(applicator, contact, site):
    levels = sound_levels(COURTYARD)
    for place, wall in enumerate(COURTYARD.walls, 1):
        WallRun.objects.create(
            site=site, position=place, label=wall.label, length_mm=wall.length_mm,
            finish=wall.finish, turn_degrees=wall.turn, levels=levels[wall.label],
        )  # fmt: skip


def with_items(applicator, contact, site):
    with_levels(applicator, contact, site)
    kinds = ("mortar_drop", "dirty_brick", "weep_hole_blocked", "tight_crack", "wet_brick")
    first, _, third, *_ = make_issued(applicator, site, kinds=kinds).items.order_by("number")
    fixes.report_fixed(contact, first, photos=[make_photo(site, contact)])
    fixes.disagree(contact, third, reason="It is paint.")


def with_carried_items(applicator, contact, site):
    with_items(applicator, contact, site)
    with clock.at(clock.now() + timedelta(days=2)):
        items = site.reports.current().get().items.all()
        make_issued(applicator, site, kinds=("mortar_drop",), carry_over=items)


def with_a_wall_taken_away(applicator, contact, site):
    with_items(applicator, contact, site)
    gone = site.reports.get().items.first().wall_run
    WallRun.objects.filter(pk=gone.pk).update(removed_at=clock.now())


def with_a_confirmation_and_a_day(applicator, contact, site):
    report = make_issued(applicator, site, kinds=())
    confirmation = confirm(contact, report)
    Booking.objects.create(
        site=site, asked_by=contact, asked_at=clock.now(), state="confirmed",
        day=timezone.localdate() + timedelta(days=4), half="morning", confirmed_by=contact,
        confirmed_at=clock.now(), confirmation=confirmation,
    )  # fmt: skip


STORIES = [
    with_nothing,
    with_walls,
    with_levels,
    with_items,
    with_carried_items,
    with_a_wall_taken_away,
    with_a_confirmation_and_a_day,
]


@pytest.mark.parametrize("story", STORIES, ids=lambda story: story.__name__)
def test_a_list_and_a_page_say_the_same_of_a_site(applicator, contact, builder, story):
    site = make_site(builder)
    with clock.at(NOW):
        story(applicator, contact, site)
    with clock.at(NOW + timedelta(days=3)):
        whole = SiteState.of(site)
        for other in (SiteState.of(site, with_levels=False), SiteState.for_list([site])[0]):
            assert other.assessment.reasons == whole.assessment.reasons
            assert other.assessment.confirmation_in_force == whole.assessment.confirmation_in_force
            assert other.facts().items == whole.facts().items
            assert other.facts().booking == whole.facts().booking
            runs = [(run.id, run.label, run.length_mm) for run in whole.facts().runs]
            assert [(run.id, run.label, run.length_mm) for run in other.facts().runs] == runs


def test_a_page_reads_whose_wall_was_taken_away(applicator, contact, builder):
    site = make_site(builder)
    with_a_wall_taken_away(applicator, contact, site)
    for state in (SiteState.of(site), SiteState.of(site, with_levels=False)):
        assert len({item.wall_run.label for item in state.items}) == 1


def test_a_list_of_many_sites_takes_the_queries_of_one(
    applicator, contact, builder, django_assert_num_queries
):
    sites = [make_site(builder) for _ in range(6)]
    for site, story in zip(sites, STORIES, strict=False):
        story(applicator, contact, site)
    SiteState.for_list(sites)  # the business is made on first use
    with django_assert_num_queries(8):
        for state in SiteState.for_list(sites[3:4]):
            assert state.assessment
    with django_assert_num_queries(8):
        for state in SiteState.for_list(sites):
            assert state.assessment
