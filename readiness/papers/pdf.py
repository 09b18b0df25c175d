"""From markup to a PDF: one WeasyPrint set-up, kept warm, that can reach nothing but our photos.

Papers are PDF/A-3 and PDF/UA-1 with their data attached as JSON. The same input gives the same
bytes in one version of the portal, which the file names: dates come from the paper, and nothing
random goes in.
"""

import gc
import json
import re
import tempfile
import threading
from collections.abc import Callable, Iterator, Mapping
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime
from io import BytesIO
from pathlib import Path
from xml.etree import ElementTree

import cssselect2
from django.template.loader import render_to_string
from weasyprint import CSS, HTML, Attachment
from weasyprint.text.fonts import FontConfiguration
from weasyprint.urls import FatalURLFetchingError, URLFetcher, URLFetcherResponse

from readiness.papers import plates
from readiness.papers.conformance import Conforming
from readiness.papers.glyphs import MissingGlyphs, named
from readiness.papers.pictures import Album
from readiness.papers.proof import Proof
from readiness.photos import store
from readiness.version import NAME, VERSION
from readiness.wording.paper import parts
from readiness.wording.paper import proof as say_proof

FOLDER = Path(__file__).resolve().parent
VARIANT = {"pdf_variant": "pdf/a-3u", "pdf_tags": True}
DATA_NAME, PROOF_NAME = "paper.json", "record.json"
LANGUAGE = "en-AU"
MADE_BY = f"{NAME} {VERSION}"
COLLECTING = (20_000, 20, 20)  # objects, then collections, before the next older ones are looked at
SHEETS = {"A4": "A4", "letter": "letter"}


@dataclass(frozen=True)
class Draft:
    """A paper ready to be laid out: its template and what goes in, with nothing left to look up."""

    template: str
    title: str
    dated: datetime
    context: dict
    data: dict
    author: str = ""
    description: str = ""
    paper_size: str = "A4"
    album: Album = field(default_factory=Album)
    proof: Proof | None = None


class PaperError(Exception):
    """A paper could not be made; the text says why."""


_LINES_BETWEEN = re.compile(r">\s*\n\s*<")
# WeasyPrint 70 breaks a line after its first word where it just fits, but for a blank behind it.
_BLANK_AT_END = re.compile(r"\s+(?=<br ?/>|</(?:p|li|td|th|h1|h2|h3|div)>)")


class OnlyOurPhotos(URLFetcher):
    """Serves the photos of one album and a paper's own drawings, and refuses all else."""

    def __init__(self, paths: Mapping[str, Path], drawings: Mapping[str, bytes] | None = None):
        super().__init__(allowed_protocols=(), allow_redirects=False, fail_on_errors=True)
        self._paths, self._drawings = paths, drawings or {}

    def fetch(self, url, headers=None):
        if url in self._drawings:
            return URLFetcherResponse(
                url, BytesIO(self._drawings[url]), headers={"Content-Type": "image/svg+xml"}
            )
        path = self._paths.get(url)
        if path is None:
            raise FatalURLFetchingError(f"A paper may not reach {url[:80]}")
        return URLFetcherResponse(
            path.as_uri(), path.open("rb"), headers={"Content-Type": "image/jpeg"}
        )


class Page(HTML):
    """A page from markup that is XML already: no HTML parser, and only the styles we wrote.

    WeasyPrint's own parser and its style sheet for any HTML there is would cost as much time as
    the layout of a short paper.
    """

    def __init__(self, text: str, url_fetcher: URLFetcher, base: CSS):
        self.base_url, self.url_fetcher, self.media_type = "paper:", url_fetcher, "print"
        root = ElementTree.fromstring(text)  # noqa: S314  (our own template's output)
        self.wrapper_element = cssselect2.ElementWrapper.from_html_root(root, content_language=None)
        self.etree_element = self.wrapper_element.etree_element
        self._base = base

    def _ua_stylesheets(self, forms=False):
        return [self._base]


class _Warm(threading.local):
    """What one worker thread keeps between papers."""

    def __init__(self):
        self.fonts = FontConfiguration()
        self.base = self._read((FOLDER / "elements.css").read_text(encoding="utf-8"))
        paper = (FOLDER / "paper.css").read_text(encoding="utf-8")
        self.sheets = {
            size: self._read(f"@page {{ size: {css} }}\n{paper}") for size, css in SHEETS.items()
        }

    def _read(self, text: str) -> CSS:
        return CSS(string=text, font_config=self.fonts, url_fetcher=OnlyOurPhotos({}))


_warm = _Warm()


def markup(draft: Draft) -> str:
    """The paper as XHTML. Text from people is escaped by the template engine."""
    context = {"title": draft.title, "language": LANGUAGE, "proof": draft.proof, **draft.context}
    text = render_to_string(draft.template, context)
    # Blocks that stand side by side would stand a blank apart, and Django's own filters write HTML.
    joined = _LINES_BETWEEN.sub("><", text).replace("<br>", "<br/>")
    return _BLANK_AT_END.sub("", joined)


def write(draft: Draft, progress: Callable[[str], None] = lambda words: None) -> tuple[bytes, int]:
    """The PDF's bytes and its number of pages.

    PaperError if a photo can't be read any more, or the paper asks for anything but its photos.
    """
    with ExitStack() as stack:
        stack.enter_context(_seldom_collecting())
        paths = _photo_paths(draft.album, stack, progress)
        text = markup(draft)
        with MissingGlyphs() as missing:
            made = _write(text, draft, paths, progress)
        if missing.found:
            made = _write(named(text, missing.found), draft, paths, progress)
        return made


@contextmanager
def _seldom_collecting() -> Iterator[None]:
    """Let the cycle collector look at what is new only now and then while a paper is made.

    Nearly all that a layout makes is in use until the file is written: looking through it again
    and again took a seventh of the time of a site report, and found next to nothing to free.
    """
    before = gc.get_threshold()
    gc.set_threshold(*COLLECTING)
    try:
        yield
    finally:
        gc.set_threshold(*before)


def _write(text: str, draft: Draft, paths: dict[str, Path], progress) -> tuple[bytes, int]:
    progress(parts.progress_layout())
    lifted, drawings = plates.lifted(text)
    try:
        document = Page(lifted, OnlyOurPhotos(paths, drawings), _warm.base).render(
            font_config=_warm.fonts,
            stylesheets=[_warm.sheets[draft.paper_size]],
            cache={},
            **VARIANT,
        )
    except FatalURLFetchingError as error:
        raise PaperError(f"{error}: {error.__cause__}") from error
    _describe(document.metadata, draft)
    pages = len(document.pages)
    progress(parts.progress_writing(pages))
    finish = Conforming()
    with tempfile.TemporaryFile(prefix="paper-") as file:
        attached = _attached(draft)
        attachments = [_attachment(*one, draft.dated.astimezone(UTC)) for one in attached]
        document.write_pdf(
            file, finisher=finish, attachments=attachments, pdf_identifier=False, **VARIANT
        )
        finish.identify(
            file, b"".join((text.encode(), *(data for _, _, data in attached), MADE_BY.encode()))
        )
        file.seek(0)
        return file.read(), pages


def _photo_paths(album: Album, stack: ExitStack, progress) -> dict[str, Path]:
    """Each photo as a file on this machine: never all of them in memory."""
    names = album.names()
    paths = {}
    for number, (photo_id, name) in enumerate(sorted(names.items()), 1):
        if number % 10 == 0:
            progress(parts.progress_photo(number, len(names)))
        paths[f"photo:{photo_id}"] = stack.enter_context(store.on_disk(name)).absolute()
    return paths


def _describe(metadata, draft: Draft) -> None:
    dated = draft.dated.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
    metadata.title, metadata.lang = draft.title, LANGUAGE
    metadata.authors = [draft.author] if draft.author else []
    metadata.description = draft.description
    metadata.created = metadata.modified = dated
    metadata.generator = MADE_BY


def data_bytes(data: dict) -> bytes:
    """The attached data: JSON with sorted keys, UTF-8."""
    return json.dumps(data, sort_keys=True, ensure_ascii=False).encode()


def _attached(draft: Draft) -> list[tuple[str, str, bytes]]:
    """The files that go with a paper: name, what it is, bytes."""
    files = [(DATA_NAME, parts.attached_data(), data_bytes(draft.data))]
    if draft.proof is not None:
        files.append((PROOF_NAME, say_proof.attached(), data_bytes(draft.proof.data)))
    return files


def _attachment(name: str, description: str, data: bytes, dated: datetime) -> Attachment:
    return Attachment(
        string=data.decode(),
        name=name,
        description=description,
        created=dated,
        modified=dated,
        relationship="Data",
        url_fetcher=OnlyOurPhotos({}),
    )
