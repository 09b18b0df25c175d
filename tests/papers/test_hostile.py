"""Text that tries to break out stays text, and a paper reaches nothing but its photos."""

import io
import re
from http.server import BaseHTTPRequestHandler, HTTPServer
from threading import Thread

import pikepdf
import pytest
from weasyprint.urls import FatalURLFetchingError

from readiness.papers import pdf, photo_record, site_report, wording
from readiness.papers.views import Snapshot
from tests.papers import reports

TRICKS = (
    "<script>alert(1)</script>",
    '<img src="file:///etc/passwd" alt="x"/>',
    "</p></div></body><style>* { display: none }</style>",
    "url(file:///etc/hostname) @import 'x'; expression(1)",
    "&amp;amp; &lt; &#x1F3E0; &nonsense; ]]> <!-- --> <?php ?>",
    "{{ title }} {% include 'x' %} {# gone #}",
    "%PDF-1.7 endobj stream (unbalanced \\( << >>",
    '" onload="x" style="position:fixed',
)
INVISIBLE = "\x00\x07\x1b\u202e\u2066\ufeff\ud800"
MANY = "long " * 2000


def hostile_snapshot(*texts: str) -> Snapshot:
    """A report with each text in all places that hold one, on a wall of its own."""
    report = reports.issue(walls=max(2, len(texts)), items=max(2, len(texts)), levels=False)
    content = dict(report.snapshot)
    every = "\n".join(texts)
    content["notes"] = content["weather"] = every
    content["business"]["report_introduction"] = every
    content["site"]["street"] = every[:160]
    for number, text in enumerate(texts):
        content["runs"][number]["label"] = text[:60]
        item, photo = content["items"][number], content["items"][number]["photos"][0]
        item["note"] = item["required_fix"] = text
        photo["caption"], photo["filename"] = text[:300], text[:200]
        content["checks"][number]["note"] = text[:200]
    return Snapshot(content, "ab" * 32)


@pytest.fixture
def server():
    """An address that writes down who calls; nobody should."""
    calls = []

    class Listener(BaseHTTPRequestHandler):
        def do_GET(self):
            calls.append(self.path)
            self.send_error(404)

        def log_message(self, *args):
            pass

    listening = HTTPServer(("127.0.0.1", 0), Listener)
    Thread(target=listening.serve_forever, daemon=True).start()
    listening.calls = calls
    yield listening
    listening.shutdown()


def squeezed(text: str) -> str:
    return "".join(text.split())


@pytest.mark.django_db
def test_markup_and_templates_in_a_note_are_printed_as_they_are():
    content, _ = pdf.write(site_report.build(hostile_snapshot(*TRICKS)))
    printed = squeezed(reports.text_of(content, "-raw"))
    places = {trick: printed.count(squeezed(trick)) for trick in TRICKS}
    # the notes, the weather, the introduction; the item's note and fix, the note of the wall
    assert {trick: count for trick, count in places.items() if count < 6} == {}
    assert "Notready" in printed


def test_lines_that_people_wrote_stay_lines(db):
    """Django writes `<br>`, which XML can't read: a note of two lines once made no paper at all."""
    content = dict(reports.issue(walls=2, items=1).snapshot)
    lines = "Dog.\nRing."
    content["notes"] = content["business"]["report_introduction"] = lines
    content["items"][0]["note"] = lines
    made, _ = pdf.write(site_report.build(Snapshot(content, "ab" * 32)))
    printed = reports.text_of(made)
    assert len(re.findall(r"Dog\.\s*\n\s*Ring\.", printed)) == 3


def test_addresses_in_a_note_are_never_called(db, server):
    url = f"http://127.0.0.1:{server.server_port}/x.png"
    text = f'{url} <img src="{url}"/> <link rel="stylesheet" href="{url}"/> url({url})'
    content, _ = pdf.write(photo_record.build(hostile_snapshot(text)))
    assert squeezed(url) in squeezed(reports.text_of(content))
    assert server.calls == []


def test_a_paper_may_reach_its_own_photos_and_nothing_else(tmp_path):
    photo = tmp_path / "photo.jpg"
    photo.write_bytes(reports.plain_jpeg(1, (40, 30)))
    fetcher = pdf.OnlyOurPhotos({"photo:one": photo})
    assert fetcher.fetch("photo:one").read() == photo.read_bytes()
    for url in (
        "photo:two",
        photo.as_uri(),
        "file:///etc/passwd",
        "http://127.0.0.1/",
        "https://portal.example/x.css",
        "ftp://127.0.0.1/",
        "data:text/css,x",
    ):
        with pytest.raises(FatalURLFetchingError):
            fetcher.fetch(url)


def test_a_template_that_asks_for_more_makes_no_paper(tmp_path, db):
    from dataclasses import replace

    draft = site_report.build(hostile_snapshot("x"))
    stray = replace(draft, context={**draft.context, "plan": '<img src="file:///etc/passwd"/>'})
    with pytest.raises(pdf.PaperError, match="may not reach"):
        pdf.write(stray)


def test_invisible_and_direction_characters_are_taken_out_and_the_rest_stays():
    assert wording.clean(f"be{INVISIBLE}fore\r\nafter\ttab") == "before\nafter\ttab"
    assert wording.clean({"a": ["\u202ex", 1, None]}) == {"a": ["x", 1, None]}


def test_letters_of_other_scripts_are_printed_or_named(db):
    """Hebrew and Arabic are in DejaVu; a character that no font has is named, never a box."""
    content, _ = pdf.write(site_report.build(hostile_snapshot("שלום مرحبا \U000f1234 Ω é")))
    printed = reports.text_of(content)
    assert "U+F1234" in printed
    assert "Ω é" in printed
    assert "שלום" in printed or "םולש" in printed


@pytest.mark.long
def test_ten_thousand_characters_run_over_pages_and_none_is_lost(db):
    content, pages = pdf.write(site_report.build(hostile_snapshot(MANY)))
    assert reports.text_of(content, "-raw").count("long ") >= 4 * 2000
    with pikepdf.open(io.BytesIO(content)) as opened:
        assert len(opened.pages) == pages


@pytest.mark.long
def test_one_word_of_two_thousand_letters_stays_on_the_page(db):
    content, _ = pdf.write(site_report.build(hostile_snapshot("w" * 2_000)))
    boxes = reports.text_of(content, "-bbox")
    rights = [float(right) for right in re.findall(r'xMax="([\d.]+)"', boxes)]
    assert max(rights) <= 595.276 - 18 / 25.4 * 72 + 2
