"""The checkpoint that a paper carries: attached, scanned, printed, and the same for ever."""

import base64
import io
import json
import subprocess
from urllib.parse import parse_qs, urlsplit

import cv2
import jsonschema
import numpy
import pikepdf
import pytest
from django.core.files.storage import storages
from django.db import transaction

from readiness.actions.papers import asking
from readiness.actions.tasks import make_paper
from readiness.evidence import checkpoints, merkle, signing
from readiness.evidence.checkpoints import HistoryChanged, Reason
from readiness.evidence.notes import Note
from readiness.evidence.record import append
from readiness.models import Checkpoint, Paper, RecordEntry, freeze
from readiness.papers import pdf, render
from readiness.papers.render import render_paper
from tests.papers import reports

FEW = (Paper.Kind.SITE_REPORT, Paper.Kind.CONFIRMATION)
MADE = [
    pytest.param(("A4", FEW), id="A4-few"),
    # Every kind of paper, drawn twice: a quarter of a minute each.
    *(
        pytest.param((size, Paper.Kind.values), id=size, marks=pytest.mark.long)
        for size in ("A4", "letter")
    ),
]


def with_checkpoints(paper_size):
    report, confirmation, _ = reports.story(items=10, business={"paper_size": paper_size})
    asking.queue_guide(report.site)
    asking.queue_rule_values(report)
    reports.treat(report, confirmation)
    made = checkpoints.make(Reason.DAILY)
    Paper.objects.filter(site=report.site).update(checkpoint=made)
    return report.site, made


@pytest.fixture(scope="module", params=MADE)
def told(request, django_db_setup, django_db_blocker):
    """The papers of a story, of these kinds, with and without a checkpoint, made once."""
    size, kinds = request.param
    with django_db_blocker.unblock(), transaction.atomic():
        site, checkpoint = with_checkpoints(size)
        papers = list(Paper.objects.filter(site=site, kind__in=kinds).order_by("pk"))
        with_it = {(paper.kind, paper.trade): render_paper(paper).content for paper in papers}
        Paper.objects.filter(site=site).update(checkpoint=None)
        papers = list(Paper.objects.filter(site=site, kind__in=kinds).order_by("pk"))
        without = {(paper.kind, paper.trade): render_paper(paper).content for paper in papers}
        head = RecordEntry.objects.filter(site=site).order_by("sequence").last()
        yield checkpoint, head, with_it, without
        transaction.set_rollback(True)


def attached(content: bytes) -> dict:
    with pikepdf.open(io.BytesIO(content)) as opened:
        return json.loads(opened.attachments["record.json"].get_file().read_bytes())


def pages(content: bytes) -> int:
    with pikepdf.open(io.BytesIO(content)) as opened:
        return len(opened.pages)


def squeezed(text: str) -> str:
    return " ".join(text.split())


def test_every_kind_carries_checkpoint_head_and_proof(told, request):
    _, told_kinds = request.node.callspec.params["told"]
    checkpoint, head, papers, _ = told
    assert {kind for kind, _ in papers} == set(told_kinds)
    schema = json.loads((pdf.FOLDER / "schema" / "record-1.json").read_text())
    follows = jsonschema.Draft202012Validator(schema)
    for about, content in papers.items():
        data = attached(content)
        follows.validate(data)
        note = Note.of_values(data["checkpoint"])
        assert note.root.hex() == checkpoint.root, about
        assert signing.is_signed_by(note.key, note.signature, note.signed)
        found = data["head"]
        assert (found["sequence"], found["sha256"]) == (head.sequence, head.digest)
        parts = [bytes.fromhex(part) for part in found["inclusion"]]
        leaf = bytes.fromhex(head.digest)
        assert merkle.includes(leaf, found["position"], note.size, parts, note.root)


@pytest.mark.long  # draws and reads the last page of every paper
def test_the_last_page_has_a_code_to_scan_and_says_what_is_proven_and_what_not(told, tmp_path):
    checkpoint, _, papers, _ = told
    for about, content in papers.items():
        (tmp_path / "paper.pdf").write_bytes(content)
        last = str(pages(content))
        command = ["pdftoppm", "-r", "300", "-gray", "-png", "-f", last, "-l", last, "-singlefile"]
        subprocess.run([*command, tmp_path / "paper.pdf", tmp_path / "page"], check=True)
        page = cv2.imread(str(tmp_path / "page.png"), cv2.IMREAD_GRAYSCALE)
        _, codes, _, _ = cv2.QRCodeDetectorAruco().detectAndDecodeMulti(numpy.asarray(page))
        links = [urlsplit(code) for code in codes if "/check/" in code]
        assert len(links) == 1, about
        asked = parse_qs(links[0].query)
        assert asked["size"] == [str(checkpoint.size)]
        assert base64.urlsafe_b64decode(f"{asked['root'][0]}=").hex() == checkpoint.root
        text = squeezed(reports.text_of(content, "-f", last))
        said = f"Held against our record, this file shows whether any of its {checkpoint.size} "
        assert f"{said}entries up to " in text
        assert "was changed later." in text
        assert "It does not show that what was recorded is true." in text
        assert checkpoint.root not in text


FULL = {("fix_list", "cleaner")}
"""Its cautions fill its last page to the end in Letter."""


def test_it_costs_none_of_these_a_page(told):
    _, _, papers, without = told
    more = {about: pages(papers[about]) - pages(without[about]) for about in papers}
    assert {about for about, count in more.items() if count} <= FULL
    assert set(more.values()) <= {0, 1}


def test_without_a_checkpoint_a_paper_is_as_it_was(told):
    _, _, _, without = told
    for content in without.values():
        with pikepdf.open(io.BytesIO(content)) as opened:
            assert list(opened.attachments) == ["paper.json"]
        assert "/check/" not in reports.text_of(content)


def test_qpdf_finds_nothing_wrong(told, tmp_path):
    for about, content in told[2].items():
        path = tmp_path / f"{'-'.join(about)}.pdf"
        path.write_bytes(content)
        subprocess.run(["qpdf", "--check", path], check=True, capture_output=True)


def test_both_files_are_attached_as_data(told):
    for content in told[2].values():
        with pikepdf.open(io.BytesIO(content)) as opened:
            assert sorted(opened.attachments) == ["paper.json", "record.json"]
            files = list(opened.attachments.values())
            assert {str(file.obj.AFRelationship) for file in files} == {"/Data"}
            assert len(opened.Root.AF) == 2


@pytest.fixture
def report(transactional_db, settings):
    return reports.issue(walls=1, items=1, levels=False)


def test_papers_carry_the_checkpoint_of_what_they_are_about(report):
    papers = list(report.papers.all())
    assert papers
    issued = RecordEntry.objects.get(verb="report_issued")
    assert len({paper.checkpoint_id for paper in papers}) == 1
    assert papers[0].checkpoint.size > issued.leaf.position
    for paper in papers:
        with storages["papers"].open(paper.storage_name) as stored:
            assert stored.read() == render_paper(paper).content


def test_made_again_after_much_else_it_has_the_same_bytes(report):
    paper = report.papers.first()
    before = render_paper(paper).content
    for number in range(5):
        with transaction.atomic():
            append(report.site, None, "levels_changed", {"number": number})
        checkpoints.make(Reason.DAILY)
    assert render_paper(Paper.objects.get(pk=paper.pk)).content == before


@pytest.mark.long
def test_a_second_try_keeps_the_checkpoint_of_the_first(report, monkeypatch):
    guide = asking.queue_guide(report.site)
    with freeze.without_triggers():  # the task has made it at once
        Paper.objects.filter(pk=guide.pk).update(
            state="queued", attempts=0, made_at=None, digest="", checkpoint=None
        )
    with monkeypatch.context() as patched:
        patched.setattr(render, "render_paper", fails)
        make_paper.call(str(guide.pk))
    first = Paper.objects.get(pk=guide.pk).checkpoint
    assert first is not None
    with transaction.atomic():
        append(report.site, None, "levels_changed", {})
    checkpoints.make(Reason.DAILY)
    Paper.objects.filter(pk=guide.pk).update(attempts=0)
    make_paper.call(str(guide.pk))
    made = Paper.objects.get(pk=guide.pk)
    assert (made.state, made.checkpoint) == ("made", first)


def fails(*_, **__):
    raise OSError("The store is away")


def test_where_none_can_be_signed_a_paper_is_made_without(transactional_db, settings):
    settings.READINESS_SIGNING_KEY = "nonsense"
    report = reports.issue(walls=1, items=1, levels=False)
    assert {paper.state for paper in report.papers.all()} == {"made"}
    assert {paper.checkpoint for paper in report.papers.all()} == {None}


def test_no_proof_is_printed_that_does_not_hold(report):
    paper = report.papers.first()
    with freeze.without_triggers():
        RecordEntry.objects.filter(leaf__position=0).update(digest="e" * 64)
    assert Checkpoint.objects.exists()
    with pytest.raises(HistoryChanged):
        render_paper(paper)
