"""What papers say of quantities is what the office's page says: one wording."""

from django.urls import reverse

from readiness.actions.sites import sites
from readiness.papers.render import render_paper
from readiness.rules.band.quantities import site_quantities
from readiness.snapshots import facts_from_snapshot, read
from readiness.wording.quantities import span
from tests.factories import confirm, make_applicator, make_builder, make_contact
from tests.papers import reports


def flat(text: str) -> str:
    return " ".join(text.split())


def test_report_record_and_page_say_the_same_range(db, client_for):
    report, confirmation, _ = reports.story(items=1)
    facts = facts_from_snapshot(read(report.snapshot))
    said = span(site_quantities(facts.runs, facts.values))
    whole = flat(reports.text_of(reports.make(report, "site_report"), "-raw"))
    assert f"On the walls: {said} · 20% less to 50% more than" in whole
    assert "Liquid to carry:" in whole
    record = render_paper(reports.treat(report, confirmation)).content
    assert f"Estimated beforehand {said}" in flat(reports.text_of(record, "-raw"))
    page = client_for(report.issued_by).get(reverse("office:quantities", args=[report.site_id]))
    assert f"Expect {said} on the walls" in flat(page.content.decode())


def test_no_paper_tells_what_other_houses_took(db):
    report, _, _ = reports.story(items=1)
    whole = flat(reports.text_of(reports.make(report, "site_report"), "-raw"))
    assert "own rate" not in whole
    assert "houses took" not in whole


def test_the_length_of_the_walls_is_that_of_the_walls_doors_and_all(db):
    """Walls of 12 m and 8.4 m; the garage door of 5 m has no wall to treat."""
    applicator = make_applicator()
    site = reports.make_site(applicator, 2, builder=make_builder())
    front = site.wall_runs.first()
    door = {"from_mm": 2000, "to_mm": 7000, "label": "garage door", "wall_below": False}
    sites.set_levels(applicator, front, front.levels | {"openings": [door]})
    report = reports.issue(actor=applicator, site=site, items=0)
    facts = facts_from_snapshot(read(report.snapshot))
    assert site_quantities(facts.runs, facts.values).lineal_mm < 16_000
    confirmation = confirm(make_contact(site.builder), report)
    record = render_paper(reports.treat(report, confirmation)).content
    assert "Length of the walls 20.4 m" in flat(reports.text_of(record, "-raw"))
