"""What the files are: PDF/A-3u and PDF/UA-1 in structure, data attached, same bytes every time.

The clauses named are from memory: ISO 19005-3 (PDF/A-3), ISO 14289-1 (PDF/UA-1).
"""

import hashlib
import io
import json
import re
import subprocess
import sys
import textwrap
from itertools import pairwise
from pathlib import Path

import pikepdf
import pytest

from readiness.models import Photo
from readiness.papers import data
from readiness.papers import pdf as engine
from readiness.papers.render import render_sample
from tests.papers import reports

KINDS = [
    "site_report", "fix_list", "photo_record", "confirmation", "guide", "treatment", "rule_values",
]  # fmt: skip


@pytest.fixture(scope="module")
def samples(django_db_setup, django_db_blocker):
    """A sample of each kind of paper, made once: nothing in them is stored."""
    with django_db_blocker.unblock():
        business = reports.set_business()
        made = {kind: render_sample(kind, business).content for kind in KINDS}
        business.delete()
    return made


@pytest.fixture(params=KINDS)
def paper(request, samples):
    with pikepdf.open(io.BytesIO(samples[request.param])) as opened:
        yield opened


def elements(paper, kind=None):
    return [
        thing
        for thing in paper.objects
        if isinstance(thing, pikepdf.Dictionary)
        and thing.get("/Type") == "/StructElem"
        and kind in (None, thing.get("/S"))
    ]


def test_a_paper_says_that_it_is_pdf_a_3u_and_pdf_ua_1(paper):
    with paper.open_metadata() as metadata:
        assert metadata.pdfa_status == "3U"
        assert metadata["pdfuaid:part"] == "1"
        # A schema that PDF/A does not know has to be described in the file (6.6.2.3.3).
        assert "pdfaExtension:schemas" in str(metadata)


def test_title_language_and_tags_are_where_readers_look(paper):
    root = paper.Root
    assert str(root.Lang) == "en-AU"
    assert root.ViewerPreferences.DisplayDocTitle is True
    assert root.MarkInfo.Marked is True
    assert str(paper.docinfo.Title)
    with paper.open_metadata() as metadata:
        assert metadata["dc:title"] == str(paper.docinfo.Title)
    assert all(page.Tabs == "/S" for page in paper.pages)


def test_colours_are_tied_to_a_profile_and_no_image_is_interpolated(paper):
    (intent,) = paper.Root.OutputIntents
    assert intent.S == "/GTS_PDFA1"
    assert int(intent.DestOutputProfile.N) == 3
    for thing in paper.objects:
        if isinstance(thing, pikepdf.Stream) and thing.get("/Subtype") == "/Image":
            assert not thing.get("/Interpolate", False)


def test_all_content_is_tagged_or_an_artifact(paper):
    """14289-1, 7.1: and every marked content that is no artifact hangs in the document's tree."""
    tree = paper.Root.StructTreeRoot
    nums = list(tree.ParentTree.Nums)
    hanging = set()
    stack = [tree.K[0]]
    while stack:
        element = stack.pop()
        hanging.add(element.objgen)
        stack += [kid for kid in element.get("/K", []) if isinstance(kid, pikepdf.Dictionary)]
    for index, page in enumerate(paper.pages):
        depth, loose = 0, []
        for operands, operator in pikepdf.parse_content_stream(page):
            name = str(operator)
            if name in ("BMC", "BDC"):
                depth += 1
                if name == "BDC" and "/MCID" in operands[1]:
                    owner = nums[2 * index + 1][int(operands[1].MCID)]
                    loose += [] if owner.objgen in hanging else [operands[1].MCID]
            elif name == "EMC":
                depth -= 1
            elif name in ("Tj", "TJ", "Do", "f", "S", "B", "f*") and depth == 0:
                loose.append(name)
        assert not loose, f"page {index + 1}"


def test_running_heads_are_artifacts(samples):
    with pikepdf.open(io.BytesIO(samples["site_report"])) as paper:
        content = paper.pages[1].Contents.read_bytes()
        assert len(re.findall(rb"/Artifact\s+BMC\s+[^E]*BT", content)) >= 2


def test_headings_never_skip_a_level(paper):
    levels = [int(str(element.S)[2:]) for element in in_order(paper) if is_heading(element)]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(after - before <= 1 for before, after in pairwise(levels))


def is_heading(element) -> bool:
    return re.fullmatch(r"/H[1-6]", str(element.get("/S"))) is not None


def in_order(paper):
    """The elements of the tree, parents first, as they are read."""
    stack = [paper.Root.StructTreeRoot.K[0]]
    while stack:
        element = stack.pop()
        yield element
        kids = [kid for kid in element.get("/K", []) if isinstance(kid, pikepdf.Dictionary)]
        stack += reversed([kid for kid in kids if "/S" in kid])


def test_every_figure_has_a_text_alternative_and_its_box_on_the_page(paper):
    for figure in elements(paper, "/Figure"):
        assert str(figure.Alt).strip()
        left, bottom, right, top = (float(side) for side in figure.A.BBox)
        width, height = (float(side) for side in figure.Pg.MediaBox[2:])
        assert 0 <= left < right <= width + 1
        assert 0 <= bottom < top <= height + 1


def test_table_headers_have_their_scope(paper):
    scopes = {str(header.A.Scope) for header in elements(paper, "/TH")}
    assert scopes <= {"/Row", "/Column"}
    assert bool(scopes) == bool(elements(paper, "/Table"))


def test_links_say_where_they_go_and_are_printed(paper):
    for page in paper.pages:
        for note in page.get("/Annots", []):
            assert str(note.Contents)
            assert int(note.F) == 4


def test_text_maps_to_unicode_and_no_glyph_is_missing(paper):
    """19005-3, 6.2.11.7.2 and 6.2.11.8."""
    fonts = [thing for thing in paper.objects if is_font(thing)]
    assert fonts
    assert all("/ToUnicode" in font for font in fonts)
    assert all("Inter" in str(font.BaseFont) or "DejaVu" in str(font.BaseFont) for font in fonts)


def is_font(thing) -> bool:
    return isinstance(thing, pikepdf.Dictionary) and thing.get("/Subtype") == "/Type0"


def test_the_data_is_attached_as_a_data_file(paper):
    (name,) = paper.attachments
    spec = paper.attachments[name]
    assert name == "paper.json"
    assert spec.obj.AFRelationship == "/Data"
    file = spec.get_file()
    assert file.mime_type == "application/json"
    assert file.obj.Params.Size == len(file.read_bytes())
    assert [entry.objgen for entry in paper.Root.AF] == [spec.obj.objgen]
    told = json.loads(file.read_bytes())
    assert told["format"] == "site-readiness-paper"


def test_the_attached_data_follows_the_schema(samples):
    jsonschema = pytest.importorskip("jsonschema")
    schema = json.loads((engine.FOLDER / "schema" / f"paper-{data.VERSION}.json").read_text())
    jsonschema.Draft202012Validator.check_schema(schema)
    follows = jsonschema.Draft202012Validator(schema)
    for content in samples.values():
        follows.validate(data_of(content))


def data_of(content: bytes) -> dict:
    with pikepdf.open(io.BytesIO(content)) as opened:
        return json.loads(opened.attachments["paper.json"].get_file().read_bytes())


def test_the_attached_data_carries_the_digests_that_the_record_keeps(issued, made):
    told = data_of(made(issued, "photo_record"))
    assert told["report_sha256"] == issued.digest
    kept = set(Photo.objects.filter(item__report=issued).values_list("original_id", flat=True))
    assert {photo["sha256"] for photo in told["photos"]} == kept


def test_qpdf_finds_nothing_wrong(samples, tmp_path):
    for kind, content in samples.items():
        path = tmp_path / f"{kind}.pdf"
        path.write_bytes(content)
        subprocess.run(["qpdf", "--check", path], check=True, capture_output=True)


def test_every_paper_has_an_identifier_of_its_own(samples):
    identifiers = set()
    for content in samples.values():
        with pikepdf.open(io.BytesIO(content)) as opened:
            identifiers.add(bytes(opened.trailer.ID[0]))
    assert len(identifiers) == len(KINDS)


@pytest.mark.long
def test_the_same_paper_has_the_same_bytes_in_two_processes(samples, tmp_path):
    """Each kind, made in this process after others, and in a fresh one in another order."""
    script = textwrap.dedent("""
        import sys, django
        django.setup()
        from readiness.models import Business
        from readiness.papers import guide, pdf, sample
        import readiness.models.people as people
        business = Business(
            name="Gumnut Barrier Services", licence_number="PM-00417",
            address="Unit 4, 18 Wharfline Road\\nTallow Creek QLD 4999", phone="07 5550 0143",
            email="office@gumnut.example", product_name="Demo termite treatment",
            letterhead_note="Termite-management treatments for new brick houses",
        )
        import hashlib
        for kind in reversed(sys.argv[1:]):
            content, _ = pdf.write(sample.sample(kind, business))
            print(kind, hashlib.sha256(content).hexdigest())
    """)
    made = subprocess.run(
        [sys.executable, "-c", script, *KINDS],
        env={
            "PATH": "/usr/bin:/bin",
            "DJANGO_SETTINGS_MODULE": "portal.settings",
            "READINESS_DEMO": "1",
            "READINESS_DATA": str(tmp_path),
            "PYTHONHASHSEED": "77",
            "TZ": "Pacific/Auckland",
        },
        cwd=Path(__file__).parents[2],
        capture_output=True,
        text=True,
        check=True,
    )
    there = dict(line.split() for line in made.stdout.splitlines())
    here = {kind: hashlib.sha256(content).hexdigest() for kind, content in samples.items()}
    assert there == here


def test_a_stored_paper_made_again_is_the_same_to_the_byte(issued, made):
    for paper in issued.papers.all():
        assert made(issued, paper.kind, paper.trade) == made(issued, paper.kind, paper.trade)
