"""Sites and their walls."""

import json
from datetime import timedelta

from readiness.actions.reporting import proposals
from readiness.actions.sites import sites
from tests.actions.cases.base import NOW, Case, as_found, case, ids
from tests.factories import (
    make_runs,
    make_site,
)
from tests.rules.walls import rendered_wall


@case(sites.add_site, "site_added")
def _(cast):
    return Case(
        lambda: sites.add_site(
            cast.applicator, cast.builder, street="1 Way", suburb="Vale", state="NSW"
        ),
        cast.applicator,
        lambda _site: [{"builder": str(cast.builder.pk)}],
    )


@case(sites.change_site, "site_changed")
def _(cast):
    told = [cast.contact.memberships.get()]
    return Case(
        lambda: sites.change_site(
            cast.applicator,
            cast.site,
            street="2 Way",
            suburb=cast.site.suburb,
            notify=told,
        ),
        cast.applicator,
        lambda _site: [{"fields": ["street", "notify"]}],
    )


@case(sites.note_rain, "rain_noted")
def _(cast):
    rained = NOW - timedelta(hours=3)
    return Case(
        lambda: sites.note_rain(cast.applicator, cast.site, rained),
        cast.applicator,
        lambda _site: [{"at": rained.isoformat()}],
    )


@case(sites.close_site, "site_closed")
def _(cast):
    return Case(
        lambda: sites.close_site(cast.applicator, cast.site),
        cast.applicator,
        lambda _site: [{}],
    )


@case(sites.reopen_site, "site_reopened")
def _(cast):
    sites.close_site(cast.applicator, cast.site)
    return Case(
        lambda: sites.reopen_site(cast.applicator, cast.site),
        cast.applicator,
        lambda _site: [{}],
    )


@case(sites.set_wall_runs, "walls_changed")
def _(cast):
    wall = cast.wall()
    entry = sites.RunEntry("Porch", 4000, "render", id=wall.pk)
    stored = {"id": str(wall.pk), "length_mm": 4000, "finish": "render"}
    return Case(
        lambda: sites.set_wall_runs(cast.applicator, cast.site, [entry]),
        cast.applicator,
        lambda _runs: [{"walls": [stored]}],
    )


@case(sites.copy_wall_runs, "walls_copied")
def _(cast):
    bare = make_site(cast.builder)
    return Case(
        lambda: sites.copy_wall_runs(cast.applicator, bare, cast.site),
        cast.applicator,
        lambda _runs: [{"from": str(cast.site.pk), "walls": 4}],
    )


@case(sites.set_levels, "levels_changed")
def _(cast):
    wall, measured = (
        cast.wall(),
        json.loads(json.dumps(rendered_wall((0, -175), (12_000, -175)).levels_as_dict())),
    )
    return Case(
        lambda: sites.set_levels(cast.applicator, wall, measured),
        cast.applicator,
        lambda _run: [{"wall": str(wall.pk)}],
    )


def _low_wall(cast):
    low = rendered_wall((0, -175), (2399, -175), (2400, -140), (5100, -140), (5101, -175))
    (run,) = make_runs(make_site(cast.builder), "East wall", length_mm=6000, finish="render")
    return sites.set_levels(cast.applicator, run, low.levels_as_dict())


def _low_render(items):
    return [
        ids(items[0], "report"),
        as_found(items[0], kind="render_line_low", measured=40),
    ]


@case(proposals.add_proposed_items, "report_started", "item_added")
def _(cast):
    run = _low_wall(cast)
    return Case(
        lambda: proposals.add_proposed_items(cast.applicator, run, [proposals.ALL]),
        cast.applicator,
        _low_render,
    )


@case(proposals.add_all_proposed, "report_started", "item_added")
def _(cast):
    run = _low_wall(cast)
    return Case(
        lambda: proposals.add_all_proposed(cast.applicator, run.site),
        cast.applicator,
        _low_render,
    )
