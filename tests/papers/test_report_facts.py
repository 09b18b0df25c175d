"""Golden facts of one issued report: what it holds stands in its papers, where it belongs."""

import copy
import io
import subprocess
import tempfile

import pikepdf
import pytest
from django.db import transaction
from django.test import override_settings

from readiness.papers import photo_record, site_report, wording
from readiness.papers.views import Snapshot
from readiness.photos import sizes, store
from readiness.rules.defects.catalogue import get_kind
from readiness.wording import states
from tests.conftest import stores_in
from tests.papers import reports
from tests.papers.reading import first_page, flat, images_of, pages_of


@pytest.fixture(scope="module")
def once(django_db_setup, django_db_blocker, tmp_path_factory):
    """The report, where its photos are, and those of its papers that were made so far."""
    stores = stores_in(tmp_path_factory.mktemp("issued"))
    with django_db_blocker.unblock(), transaction.atomic():
        with override_settings(STORAGES=stores):
            report = reports.issue(items=10)
        yield report, stores, {}
        transaction.set_rollback(True)


@pytest.fixture
def issued(once, db, settings):
    """An issued report of four walls and ten items, each with one plain photo, made once for all.

    What a test changes of it in the database is taken back.
    """
    report, settings.STORAGES, _ = once
    return report


@pytest.fixture
def made(once):
    """`made(report, kind, trade="")`: the bytes of one of its papers, as it was issued."""
    _, _, papers = once

    def make(report, kind, trade=""):
        if (kind, trade) not in papers:
            papers[kind, trade] = reports.make(report, kind, trade)
        return papers[kind, trade]

    return make


def test_page_one_answers_ready_or_not_who_and_by_when(issued, made):
    first = pages_of(made(issued, "site_report"))[0]
    assert "Not ready 8 things must be fixed before we can book." in first
    for words in (
        "Site report 1",
        "12 Wattlebird Way, Tallow Creek QLD 4999",
        "Job number: WB-1207",
        "Licence PM-00417",
        "Alex Applicator (licence T-2208)",
        "Bricklayer",
        "Visited: Mon 23 November 2026",
    ):
        assert words in first


def test_every_item_of_the_report_has_its_own_block_with_fix_place_and_due_date(issued, made):
    text = flat(reports.text_of(made(issued, "site_report"), "-raw"))
    view = Snapshot(issued.snapshot)
    for item in view.items(reports.FRAME):
        assert text.count(f"{item.number} · {item.name} {flat(item.place)}") == 1, item.name
        if item.effect != "record":
            assert flat(item.fix) in text
        if item.effect == "holds":
            assert f"{item.trade_words}, by {item.due}" in text
        for photo in item.photos:
            assert text.count(photo.short_digest) == 1


def test_the_later_pages_say_what_page_one_says(issued, made):
    pages = pages_of(made(issued, "site_report"))
    status = states.words(Snapshot(issued.snapshot).assessment.site_status)
    assert status in pages[0]
    assert not any("Nothing to fix before we can book" in page for page in pages)
    walls = " ".join(pages)
    assert walls.count("· not ready · items") == 4  # over its drawing
    assert walls.count("· not ready") == 8  # and beside the plan


@pytest.mark.parametrize(
    ("kind", "starts"),
    [("site_report", "Site report 1 ·"), ("photo_record", "Photo record, report 1 ·")],
)
def test_later_pages_run_under_report_and_site(issued, made, kind, starts):
    for page in pages_of(made(issued, kind))[1:]:
        assert f"{starts} {Snapshot(issued.snapshot).address}" in page


@pytest.mark.parametrize("kind", ["site_report", "photo_record"])
def test_every_photo_is_in_the_paper_as_it_is_stored(kind, issued, made):
    content = made(issued, kind)
    rows = images_of(content)
    photos = [row for row in rows if row[8] == "jpeg"]
    assert [row[3:5] for row in photos] == [["1600", "1200"]] * 10
    stored = set()
    for item in issued.items.all():
        for photo in item.photos.all():
            with store.open_file(sizes.ready_name(photo, "large")) as file:
                stored.add(file.read())
    with pikepdf.open(io.BytesIO(content)) as pdf:
        inside = {
            bytes(image.read_raw_bytes())
            for page in pdf.pages
            for image in page.get_images().values()
            if image.get("/Filter") == "/DCTDecode"
        }
    assert inside == stored


def test_the_photo_record_has_place_measure_both_times_and_digest_of_every_photo(issued, made):
    text = flat(reports.text_of(made(issued, "photo_record"), "-raw"))
    assert "10 photos of 10 things on 4 walls" in text
    zone = issued.site.zone
    for entry in issued.snapshot["items"]:
        photo = entry["photos"][0]
        assert text.count(f"SHA-256: {photo['sha256']}") == 1
        assert f"Camera said: {wording.exact(photo['taken_at'], zone)}" in text
        assert f"Server received: {wording.exact(photo['received_at'], zone)}" in text
        assert get_kind(entry["kind"]).name in text
    assert "Depth of the hole: 38 mm" in text
    assert "sha256sum" in pages_of(made(issued, "photo_record"))[-1]


def test_a_photo_record_says_who_was_there_and_what_it_shows(issued, made, db):
    first = pages_of(made(issued, "photo_record"))[0]
    by = "taken on the visit of Mon 23 November 2026 by Alex Applicator (licence T-2208), report 1."
    assert f"10 photos of 10 things on 4 walls, {by}" in first
    content = copy.deepcopy(issued.snapshot)
    shown = content["items"][0]["photos"]
    for item in content["items"]:
        item["photos"] = []
    assert photo_record.build(Snapshot(content)).context["summary"] == "No photos"
    content["checks"][0]["photos"] = shown
    assert photo_record.build(Snapshot(content)).context["summary"] == "1 photo of 1 wall"


def test_photos_of_what_was_carried_over_are_not_said_to_be_of_this_visit(issued, db):
    content = copy.deepcopy(issued.snapshot)
    content["items"][0]["carried_from"] = {"report": 1, "number": 3}
    draft = photo_record.build(Snapshot(content))
    number = content["items"][0]["number"]
    told = f"Item {number} comes from an earlier report. Its photos can be older than this visit"
    assert draft.context["carried"].startswith(told)
    content["items"][1]["carried_from"] = {"report": 1, "number": 4}
    assert "Their photos can be older" in photo_record.build(Snapshot(content)).context["carried"]


def test_who_prepared_a_report_is_told_from_who_issued_it(issued):
    """The office may issue what a technician found: the photos are not the office's then."""
    content = copy.deepcopy(issued.snapshot)
    content["issued_by"] = {"id": "other", "name": "Olly Office", "licence_number": ""}
    facts = dict(site_report.build(Snapshot(content)).context["facts"])
    assert facts["Prepared by"] == "Alex Applicator (licence T-2208)"
    assert facts["Issued by"] == "Olly Office"
    made = photo_record.build(Snapshot(content)).context["made"]
    assert made.endswith(
        "report 1 (prepared by Alex Applicator (licence T-2208), issued by Olly Office)"
    )


def test_a_fix_list_says_where_distances_start_and_prints_no_digest(issued, made):
    text = flat(reports.text_of(made(issued, "fix_list", "bricklayer"), "-raw"))
    assert "North wall, from outside: distances start at its left end" in text
    assert "Distances start at" not in text, "every wall is drawn"
    photo = Snapshot(issued.snapshot).items(reports.FRAME)[0].photos[0]
    assert photo.digest[:8] not in text
    assert "SHA-256" not in text


def test_a_long_caption_makes_its_photo_smaller_and_keeps_off_the_next_one(issued):
    content = copy.deepcopy(issued.snapshot)
    photo = content["items"][2]["photos"][0]
    photo["caption"] = "left of the door " * 17
    short, long = photo_record.build(Snapshot(content)).context["leaves"][1:3]
    # 289 letters take 3 lines of 4 mm under the usual 3, where 4 have room
    assert short.photo.picture.height_mm - long.photo.picture.height_mm == 2 * 4


def test_the_fix_list_holds_its_trades_items_only(issued, made):
    text = flat(reports.text_of(made(issued, "fix_list", "bricklayer")))
    assert "4 things to fix" in text
    for entry in issued.snapshot["items"]:
        name = get_kind(entry["kind"]).name
        if entry["trade"] == "bricklayer" and entry["effect"] == "holds":
            assert flat(entry["required_fix"]) in text
        else:
            assert name not in text


def test_walls_are_told_apart_by_letter_where_labels_have_commas(issued):
    labels = iter(("Front, garage", "Behind garage", "Tap side", "Back"))
    content = copy.deepcopy(issued.snapshot)
    for run in content["runs"]:
        run["label"] = next(labels)
    (view,) = [t for t in Snapshot(content).trades(reports.FRAME) if t.trade == "bricklayer"]
    assert view.where == "Front, garage (A), Tap side (C), Back (D) and Behind garage (B)"


def test_page_one_says_that_a_trades_day_is_its_first_where_there_are_several(issued):
    content = copy.deepcopy(issued.snapshot)
    mine = [item for item in content["items"] if item["trade"] == "bricklayer"]
    mine[0]["due_on"], mine[1]["due_on"] = "2026-12-01", "2026-12-03"
    for item in mine[2:]:
        item["due_on"] = "2026-12-03"
    (view,) = [t for t in Snapshot(content).trades(reports.FRAME) if t.trade == "bricklayer"]
    assert view.due == "first by Tue 1 December 2026"
    mine[0]["due_on"] = "2026-12-03"
    (view,) = [t for t in Snapshot(content).trades(reports.FRAME) if t.trade == "bricklayer"]
    assert view.due == "Thu 3 December 2026"


def test_the_code_on_a_fix_list_opens_the_trades_list(issued, made):
    cv2 = pytest.importorskip("cv2")
    import numpy

    content = made(issued, "fix_list", "bricklayer")
    page = first_page(content, dpi=150)
    found, _, _ = cv2.QRCodeDetectorAruco().detectAndDecode(numpy.array(page.convert("L")))
    link = issued.papers.get(kind="fix_list", trade="bricklayer").trade_link
    assert found == link.url
    with pikepdf.open(io.BytesIO(content)) as pdf:
        links = [
            str(note.A.URI)
            for note in pdf.pages[0].Annots
            if note.Subtype == "/Link" and "/URI" in note.A
        ]
    assert link.url in links


def test_a_removed_photo_leaves_a_place_that_says_so(issued):
    photo = issued.items.first().photos.first()
    photo.removed_at = photo.received_at
    photo.save()
    text = flat(reports.text_of(reports.make(issued, "photo_record")))
    assert "This photo was deleted on 23 Nov 2026. Its SHA-256 stays on record." in text
    assert photo.short_digest in text


def test_all_fonts_are_embedded_subsets(issued, made):
    with tempfile.NamedTemporaryFile(suffix=".pdf") as file:
        file.write(made(issued, "site_report"))
        file.flush()
        listed = subprocess.run(
            ["pdffonts", file.name], capture_output=True, check=True, text=True
        ).stdout.splitlines()[2:]
    assert listed
    assert all(line.split()[-5:-2] == ["yes", "yes", "yes"] for line in listed), listed
