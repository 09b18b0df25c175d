"""One version, told everywhere: pyproject.toml, the About page, the status page and papers."""

import io
import re
import tomllib
from pathlib import Path

import pikepdf
import pytest
from django.conf import settings
from django.urls import reverse

from readiness.models import Paper
from readiness.papers.render import render_paper
from readiness.version import NAME, VERSION
from tests.factories import make_issued

pytestmark = pytest.mark.django_db


def test_pyproject_names_the_same_version():
    project = tomllib.loads((Path(settings.BASE_DIR) / "pyproject.toml").read_text())["project"]
    assert project["version"] == VERSION
    assert re.fullmatch(r"\d+\.\d+\.\d+", VERSION)


@pytest.mark.parametrize("who", ["applicator", "contact"])
def test_the_about_page_says_version_and_licence_and_the_footer_leads_there(
    request, client_for, who
):
    client = client_for(request.getfixturevalue(who))
    page = client.get(reverse("about"))
    said = page.content.decode()
    assert f"{NAME}, version {VERSION}." in said
    assert "MIT licence" in said
    assert "a person decides and signs" in said
    assert reverse("about") in client.get(reverse("cautions")).content.decode()


def test_strangers_are_not_told_the_version(client):
    assert client.get(reverse("about")).status_code == 302
    assert VERSION not in client.get(reverse("account_login")).content.decode()


def test_a_paper_names_the_version_that_made_it_twice_the_same(applicator):
    report = make_issued(applicator, kinds=())
    paper = report.papers.get(kind=Paper.Kind.SITE_REPORT)
    made = render_paper(paper).content
    assert made == render_paper(paper).content
    with pikepdf.open(io.BytesIO(made)) as pdf:
        assert str(pdf.docinfo["/Creator"]) == f"{NAME} {VERSION}"
        with pdf.open_metadata() as metadata:
            assert metadata["xmp:CreatorTool"] == f"{NAME} {VERSION}"
