"""The command that writes papers for people who script."""

import pytest
from django.core.management import CommandError, call_command

from readiness.actions.tasks import make_paper
from tests.papers import reports


@pytest.fixture
def issued(db):
    return reports.issue(walls=2, items=2, levels=False)


def written(folder):
    return {path.name: path.read_bytes() for path in sorted(folder.rglob("*.pdf"))}


def test_it_writes_every_paper_of_a_site_with_the_same_bytes_each_time(issued, tmp_path):
    call_command("make_papers", "WB-1207", out=tmp_path / "one")
    call_command("make_papers", str(issued.site_id), out=tmp_path / "two")
    one, two = written(tmp_path / "one"), written(tmp_path / "two")
    assert one == two
    assert set(one) == {
        "site-report-report-1-edition-1.pdf",
        "photo-record-report-1-edition-1.pdf",
        "fix-list-bricklayer-report-1-edition-1.pdf",
        "fix-list-earthworks-report-1-edition-1.pdf",
    }
    assert not issued.papers.filter(state="made").exists()


def test_a_paper_that_is_made_is_copied_and_one_made_again_is_no_other(issued, tmp_path):
    paper = issued.papers.get(kind="photo_record")
    make_paper.func(str(paper.pk))
    call_command("make_papers", out=tmp_path / "kept")
    call_command("make_papers", out=tmp_path / "again", again=True)
    assert written(tmp_path / "kept") == written(tmp_path / "again")


def test_a_site_that_is_not_there_is_named(db, tmp_path):
    with pytest.raises(CommandError, match="“NOPE-1”"):
        call_command("make_papers", "NOPE-1", out=tmp_path)
