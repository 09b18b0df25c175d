"""The papers page of a site, the PDFs behind it, and the previews."""

import uuid

import pytest
from django.core.files.storage import storages
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from portal.papers.serving import file_name
from readiness import clock
from readiness.actions.papers.asking import new_edition
from readiness.actions.tasks import make_paper
from readiness.actions.visits import confirming
from readiness.models import Business, Paper, freeze
from tests.factories import make_applicator, make_builder, make_contact, make_draft, make_site
from tests.papers import reports


@pytest.fixture
def issued(db):
    """An issued report whose fix list for the bricklayer is made, the rest still waiting."""
    report = reports.issue(items=2, walls=2, levels=False)
    make_paper.func(str(report.papers.get(kind="fix_list", trade="bricklayer").pk))
    return report


def list_url(report):
    return reverse("papers:site", args=[report.site_id])


def test_the_page_lists_each_paper_with_how_far_it_is(issued, applicator, client_for):
    page = client_for(applicator).get(list_url(issued)).content.decode()
    assert "Fix list: bricklayer" in page
    assert "PDF, " in page
    assert "3 papers of 4 still to be made" in page
    assert 'hx-trigger="every 2s"' in page


def test_htmx_gets_the_list_alone_and_stops_asking_when_all_are_made(
    issued, applicator, client_for
):
    for paper in issued.papers.filter(state="queued"):
        make_paper.func(str(paper.pk))
    answer = client_for(applicator).get(list_url(issued), headers={"HX-Request": "true"})
    page = answer.content.decode()
    assert page.lstrip().startswith('<div id="papers"')
    assert "hx-trigger" not in page


def test_the_list_takes_as_many_queries_for_many_papers_as_for_few(issued, applicator, client_for):
    client = client_for(applicator)

    def count():
        with CaptureQueriesContext(connection) as queries:
            client.get(list_url(issued))
        return len(queries)

    count()  # the first request of a session reads more
    few = count()
    for edition in range(2, 12):
        for paper in issued.papers.filter(edition=1):
            paper.pk, paper._state.adding = uuid.uuid4(), True
            paper.edition, paper.subject = edition, f"{paper.subject[:-1]}{edition}"
            paper.save()
    assert count() == few <= 12


def test_a_paper_is_served_with_a_telling_name_and_nothing_to_guess(issued, applicator, client_for):
    paper = issued.papers.get(state="made")
    url = reverse("papers:paper", args=[paper.pk])
    answer = client_for(applicator).get(url)
    assert answer["Content-Type"] == "application/pdf"
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert answer["Content-Disposition"].startswith("inline")
    name = "fix-list-bricklayer-12-wattlebird-way-tallow-creek-report-1.pdf"
    assert name in answer["Content-Disposition"]
    assert b"".join(answer.streaming_content)[:5] == b"%PDF-"
    kept = client_for(applicator).get(url, {"download": 1})
    assert kept["Content-Disposition"].startswith("attachment")


def test_a_paper_that_is_not_made_yet_is_not_there(issued, applicator, client_for):
    paper = issued.papers.filter(state="queued").first()
    url = reverse("papers:paper", args=[paper.pk])
    assert client_for(applicator).get(url).status_code == 404


def test_the_sites_builder_sees_its_papers_and_another_builder_sees_nothing(issued, client_for):
    paper = issued.papers.get(state="made")
    own = client_for(make_contact(issued.site.builder))
    other = client_for(make_contact(make_builder()))
    for url in (list_url(issued), reverse("papers:paper", args=[paper.pk])):
        assert own.get(url).status_code == 200
        assert other.get(url).status_code == 404


def test_a_failed_paper_can_be_tried_again_by_the_applicator_only(issued, applicator, client_for):
    paper = issued.papers.filter(state="queued").first()
    Paper.objects.filter(pk=paper.pk).update(
        state="failed", given_up_at=clock.now(), error="disk full", attempts=3
    )
    url = reverse("papers:retry", args=[paper.pk])
    page = client_for(applicator).get(list_url(issued)).content.decode()
    assert "Could not be made after 3 tries" in page
    assert url in page
    assert "disk full" in page
    builder = client_for(make_contact(issued.site.builder))
    theirs = builder.get(list_url(issued)).content.decode()
    assert "The applicator can try again." in theirs
    assert "disk full" not in theirs
    assert builder.post(url).status_code == 403
    assert client_for(applicator).post(url).status_code == 302
    paper.refresh_from_db()
    assert (paper.state, paper.error) == ("queued", "")


def test_the_list_says_who_signed_a_confirmation_and_whether_it_was_withdrawn(db, client_for):
    report, confirmation, supervisor = reports.story()
    client = client_for(supervisor)
    page = " ".join(client.get(list_url(report)).content.decode().split())
    assert "Signed by Sam Supervisor at" in page
    assert "Withdrawn at" not in page
    confirming.withdraw_confirmation(supervisor, confirmation, reason="A trench was dug.")
    assert "Withdrawn at" in client.get(list_url(report)).content.decode()


def test_a_new_edition_says_why_and_keeps_the_earlier_one(issued, applicator, client_for):
    paper = issued.papers.get(state="made")
    url = reverse("papers:edition", args=[paper.pk])
    client = client_for(applicator)
    refused = client.post(url, {"reason": " "})
    assert refused.status_code == 400
    assert "Say why a new edition is made" in refused.content.decode()
    for _ in range(2):  # the answer to the first got lost
        client.post(url, {"reason": "The licence number was wrong."})
    assert Paper.objects.editions_of(paper).count() == 2
    latest = Paper.objects.get(subject=paper.subject[:-1] + "2")
    make_paper.func(str(latest.pk))
    latest.refresh_from_db()
    paper.refresh_from_db()
    assert latest.state == paper.state == "made"
    assert latest.digest != paper.digest
    page = client.get(list_url(issued)).content.decode()
    assert "Edition 2: The licence number was wrong." in page
    assert "1 earlier edition" in page


def test_anyone_of_the_site_can_have_the_guide_made(issued, client_for):
    contact = make_contact(issued.site.builder)
    url = reverse("papers:guide", args=[issued.site_id])
    assert client_for(contact).post(url).status_code == 302
    assert issued.site.papers.filter(kind="guide").count() == 1
    assert client_for(make_contact(make_builder())).post(url).status_code == 404


def test_anyone_of_the_site_can_have_the_annex_of_a_report_made_once(issued, client_for):
    client = client_for(make_contact(issued.site.builder))
    url = reverse("papers:rule_values", args=[issued.pk])
    asks = "Make the list of rule values and sources"
    assert asks in client.get(list_url(issued)).content.decode()
    for _ in range(2):
        assert client.post(url).status_code == 302
    assert issued.papers.filter(kind="rule_values").count() == 1
    assert asks not in client.get(list_url(issued)).content.decode()
    assert client_for(make_contact(make_builder())).post(url).status_code == 404


@pytest.mark.django_db
def test_a_draft_has_no_annex(client_for):
    applicator = make_applicator()
    draft = make_draft(applicator, make_site())
    url = reverse("papers:rule_values", args=[draft.pk])
    assert client_for(applicator).post(url).status_code == 404


@pytest.mark.long
@pytest.mark.django_db
@pytest.mark.parametrize("kind", Paper.Kind.values)
def test_every_kind_of_paper_has_a_preview_with_the_saved_settings(kind, client_for):
    reports.set_business(name="Ironbark Barrier Works")
    client = client_for(make_applicator())
    answer = client.get(reverse("office:preview", args=[kind]))
    assert answer["Content-Type"] == "application/pdf"
    assert "Ironbark Barrier Works" in reports.text_of(answer.content)
    assert Paper.objects.count() == 0


def test_a_preview_shows_what_is_typed_and_stores_nothing(db, client_for):
    from portal.office.business.forms import BusinessForm

    business = reports.set_business(name="Before")
    form = BusinessForm(instance=business)
    typed = {name: form.get_initial_for_field(field, name) for name, field in form.fields.items()}
    typed = {name: value for name, value in typed.items() if value not in (None, False)}
    typed["name"] = "Typed but not saved"
    url = reverse("office:preview", args=["fix_list"])
    answer = client_for(make_applicator(is_owner=True)).post(url, typed)
    assert answer.status_code == 200, answer.content.decode()[:2000]
    assert "Typed but not saved" in reports.text_of(answer.content)
    assert Business.current().name == "Before"


def test_a_preview_of_bad_settings_says_what_to_change(db, client_for):
    url = reverse("office:preview", args=["fix_list"])
    answer = client_for(make_applicator(is_owner=True)).post(url, {"name": ""})
    assert answer.status_code == 400
    assert "Name of the business" in answer.content.decode()


def test_staff_whose_form_is_disabled_see_a_preview_of_the_saved_settings(db, client_for):
    reports.set_business(name="Ironbark Barrier Works")
    answer = client_for(make_applicator()).post(reverse("office:preview", args=["confirmation"]))
    assert "Ironbark Barrier Works" in reports.text_of(answer.content)


def test_a_builder_sees_no_preview(db, client_for):
    url = reverse("office:preview", args=["guide"])
    assert client_for(make_contact()).get(url).status_code == 404


def test_two_editions_of_a_paper_have_names_of_their_own_however_long_the_address(
    issued, applicator, client_for
):
    site = issued.site
    site.street = f"{'Long ' * 30}Road 12"
    site.save()
    names = set()
    for edition in (1, 2):
        paper = issued.papers.get(state="made", kind="fix_list")
        paper.edition = edition
        names.add(file_name(paper))
    assert len(names) == 2
    assert all(len(name) <= 160 for name in names)
    assert all("report-1" in name for name in names)


def test_a_paper_whose_file_is_lost_says_so(issued, applicator, client_for):
    paper = issued.papers.get(state="made")
    storages["papers"].delete(paper.storage_name)
    url = reverse("papers:paper", args=[paper.pk])
    answer = client_for(applicator).get(url)
    assert answer.status_code == 404
    page = answer.content.decode()
    assert "The file of this paper is missing" in page
    assert list_url(issued) in page
    theirs = client_for(make_contact(issued.site.builder)).get(url)
    assert theirs.status_code == 404
    assert "Ask the applicator for a new edition" in theirs.content.decode()


def test_editions_are_found_by_an_index_and_told_apart_from_other_papers(issued, applicator):
    """Also where nothing can be read out of `subject`: it keeps one thing from being made twice."""
    paper = issued.papers.get(kind="fix_list", trade="bricklayer")
    other = next(one for one in issued.papers.filter(kind="fix_list") if one != paper)
    with freeze.without_triggers():
        Paper.objects.filter(pk=paper.pk).update(subject="from elsewhere")
    paper.refresh_from_db()
    with clock.at(issued.issued_at):
        second = new_edition(applicator, paper, reason="The licence number was wrong.")
        third = new_edition(applicator, second, reason="So was the address.")
    assert [second.edition, third.edition] == [2, 3]
    assert list(Paper.objects.editions_of(paper).order_by("edition")) == [paper, second, third]
    assert list(Paper.objects.editions_of(other)) == [other]
    with connection.cursor() as cursor:
        sql, values = Paper.objects.editions_of(paper).order_by().query.sql_with_params()
        cursor.execute(f"EXPLAIN QUERY PLAN {sql}", values)
        plan = " ".join(str(row) for row in cursor.fetchall())
    assert "USING INDEX" in plan
    assert "SCAN" not in plan
