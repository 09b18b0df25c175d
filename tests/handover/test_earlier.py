"""Exports of earlier versions are read, and one of a later version is refused in words."""

import io
import json
import zipfile

import pytest

from readiness.handover import FORMAT, FORMATS, BadExport
from readiness.handover.earlier import STEPS
from readiness.handover.export import export_site
from readiness.handover.verify import verify_export
from tests.factories import make_site
from tests.handover.forging import resealed, rewritten

pytestmark = pytest.mark.django_db


@pytest.fixture
def site(builder):
    return make_site(builder)


def test_every_format_but_todays_has_its_step():
    assert set(STEPS) == set(FORMATS[:-1])
    assert FORMAT not in STEPS


def test_an_export_of_a_later_version_is_refused_in_words(site, tmp_path):
    export_site(site, tmp_path / "now.zip")

    def change(name, content):
        if name != "manifest.json":
            return content
        return json.dumps({**json.loads(content), "format": "site-export-99"}).encode()

    later = resealed(rewritten(tmp_path / "now.zip", tmp_path / "later.zip", change))
    with pytest.raises(BadExport, match="upgrade first"):
        verify_export(later)


def test_the_export_says_todays_format(site, tmp_path):
    export_site(site, tmp_path / "now.zip")
    with zipfile.ZipFile(io.BytesIO((tmp_path / "now.zip").read_bytes())) as bundle:
        assert json.loads(bundle.read("manifest.json"))["format"] == FORMAT
