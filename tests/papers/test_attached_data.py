"""What goes with a paper as JSON is what its pages print: no rate, no other trade's work."""

import io
import json
import re
from datetime import date, datetime, timedelta
from decimal import Decimal

import jsonschema
import pikepdf
import pytest
from django.db import transaction

from readiness.actions.firm import rule_values
from readiness.actions.papers import asking
from readiness.models import Paper
from readiness.papers import data, pdf, wording
from readiness.papers.render import render_paper
from readiness.rules.defects.catalogue import TRADES, get_kind
from readiness.rules.values.rule_values import RULE_VALUES
from readiness.rules.vocabulary import Effect
from readiness.rules.words import metres, millimetres
from tests.factories import make_applicator
from tests.papers import reports

RATE_CENTS = 13_137
SECRET_LICENCE, SECRET_MAIL, SECRET_PHONE = "T-SECRET-77", "hidden@gumnut.example", "0491 570 006"
ENVELOPE = {"format", "version", "paper.kind"}


def data_of(content: bytes) -> dict:
    with pikepdf.open(io.BytesIO(content)) as opened:
        return json.loads(opened.attachments["paper.json"].get_file().read_bytes())


def squeezed(text: str) -> str:
    """A text as it can be looked for on pages: no spaces, no breaks, one case."""
    return re.sub(r"\s", "", text).casefold()


BETWEEN_MARGINS = ("-r", "72", "-x", "0", "-y", "40", "-W", "620", "-H", "755")
"""Of an A4 page in points: without what runs over and under each page."""


def printed(content: bytes) -> str:
    """All that the pages of a PDF print, as one text."""
    return squeezed(reports.text_of(content, "-raw", *BETWEEN_MARGINS))


def leaves(value, path=()):
    if isinstance(value, dict):
        for key, part in value.items():
            yield from leaves(part, (*path, key))
    elif isinstance(value, list):
        for part in value:
            yield from leaves(part, path)
    else:
        yield path, value


def forms(path, value, zone) -> list[str]:
    """How the pages may print a value."""
    key = path[-1]
    if key.endswith("_mm") and isinstance(value, int):
        return [metres(value), millimetres(value)]
    if key.endswith("_on") and re.fullmatch(r"\d{4}-\d\d-\d\d", str(value)):
        day = date.fromisoformat(value)
        return [wording.day(day), wording.short_day(day)]
    if key.endswith("_at"):
        at = datetime.fromisoformat(value)
        return [
            wording.when(at, zone), wording.short_when(at, zone), wording.exact(at, zone),
            wording.day(at.astimezone(zone).date()),
        ]  # fmt: skip
    if key in ("sha256", "report_sha256", "signed_sha256"):
        return [value, wording.grouped_digest(value), wording.short_digest(value)]
    return [str(value)]


def not_printed(content: bytes, zone) -> list:
    text = printed(content)
    return [
        (".".join(path), value)
        for path, value in leaves(data_of(content))
        if ".".join(path) not in ENVELOPE
        and not any(squeezed(form) in text for form in forms(path, value, zone))
    ]


def story():
    """A whole one: a report of four trades and a licensed preparer, confirmed and treated."""
    owner = make_applicator(
        SECRET_MAIL, "Olive Owner", is_owner=True, phone=SECRET_PHONE, licence_number=SECRET_LICENCE
    )
    rule_values.change_rule_values(owner, {"labour_cents_per_hour": str(RATE_CENTS)})
    report, confirmation, _ = reports.story(items=10)
    asking.queue_guide(report.site)
    asking.queue_rule_values(report)
    reports.treat(report, confirmation)
    return report


@pytest.fixture(scope="module")
def told(django_db_setup, django_db_blocker):
    """The report of a story, for tests that only read; its papers are made once."""
    with django_db_blocker.unblock(), transaction.atomic():
        report = story()
        made = Paper.objects.filter(site=report.site).order_by("pk")
        report.all_papers = [(paper, render_paper(paper).content) for paper in made]
        yield report
        transaction.set_rollback(True)


def test_every_value_of_the_data_stands_on_the_pages(told):
    kinds, missing = set(), {}
    for paper, content in told.all_papers:
        kinds.add(paper.kind)
        missing[paper.kind, paper.trade] = not_printed(content, told.site.zone)
    assert kinds == set(Paper.Kind.values)
    assert {about: values for about, values in missing.items() if values} == {}


def test_the_check_finds_a_value_that_is_not_printed(told):
    _, content = told.all_papers[0]
    hidden = {**data_of(content), "rate": RATE_CENTS}
    with pikepdf.open(io.BytesIO(content)) as opened:
        opened.attachments["paper.json"] = json.dumps(hidden).encode()
        out = io.BytesIO()
        opened.save(out)
    assert not_printed(out.getvalue(), told.site.zone) == [("rate", RATE_CENTS)]


def test_no_rate_and_nobodys_number_is_in_the_data(told):
    rates = [key for key, rule in RULE_VALUES.items() if rule.group == "Time cost of defects"]
    for paper, content in told.all_papers:
        text = json.dumps(data_of(content), ensure_ascii=False)
        pages = reports.text_of(content)
        for word in (*rates, str(RATE_CENTS), f"{Decimal(RATE_CENTS) / 100:.2f}", "cents"):
            assert word not in text, (paper.kind, word)
        for word in (str(RATE_CENTS), f"{Decimal(RATE_CENTS) / 100:.2f}", "AUD"):
            assert word not in text + pages, (paper.kind, "hours and a sum of money tell the rate")
        for word in (SECRET_LICENCE, SECRET_MAIL, SECRET_PHONE):
            assert word not in text, (paper.kind, word)
        if "T-2208" in text:
            assert "T-2208" in pages, paper.kind


def test_a_trades_list_holds_that_trades_items_alone(told):
    lists = [(p, content) for p, content in told.all_papers if p.kind == Paper.Kind.FIX_LIST]
    assert len(lists) >= 3
    for paper, content in lists:
        text = json.dumps(data_of(content), ensure_ascii=False)
        own = set(
            told.items.filter(effect=Effect.HOLDS, trade=paper.trade).values_list(
                "number", flat=True
            )
        )
        assert {item["number"] for item in data_of(content)["items"]} == own
        for other in told.items.exclude(trade=paper.trade):
            assert get_kind(other.kind).name not in text, (paper.trade, other.kind)
            assert str(other.pk) not in text
        assert not [
            words for slug, words in TRADES.items() if slug != paper.trade and words in text
        ]
        assert "T-2208" not in text
        assert "rule_values" not in text


def test_all_kinds_follow_the_schema_of_their_version(told):
    schema = json.loads((pdf.FOLDER / "schema" / f"paper-{data.VERSION}.json").read_text())
    jsonschema.Draft202012Validator.check_schema(schema)
    for _, content in told.all_papers:
        jsonschema.Draft202012Validator(schema).validate(data_of(content))


def test_the_schema_lets_nothing_else_in(told):
    schema = json.loads((pdf.FOLDER / "schema" / f"paper-{data.VERSION}.json").read_text())
    follows = jsonschema.Draft202012Validator(schema)
    for _, content in told.all_papers:
        found = data_of(content)
        for more in ({**found, "rule_values": {}}, {**found, "report": {"labour": 1}}):
            with pytest.raises(jsonschema.ValidationError):
                follows.validate(more)


def test_every_version_that_was_ever_attached_keeps_its_schema():
    kept = sorted(path.name for path in (pdf.FOLDER / "schema").glob("paper-*.json"))
    assert kept == [f"paper-{version}.json" for version in range(1, data.VERSION + 1)]
    first = json.loads((pdf.FOLDER / "schema" / "paper-1.json").read_text())
    jsonschema.Draft202012Validator.check_schema(first)
    assert first["properties"]["version"] == {"const": 1}


def test_a_withdrawn_confirmation_tells_of_that_as_it_prints_it(db):
    told, confirmation, _ = reports.story(items=2)
    confirmation.withdrawn_at = confirmation.confirmed_at + timedelta(hours=2)
    confirmation.withdrawn_by = confirmation.confirmed_by
    confirmation.withdrawn_reason = "The paver came back."
    confirmation.save()
    paper = Paper.objects.filter(site=told.site, kind=Paper.Kind.CONFIRMATION).latest("pk")
    content = render_paper(paper).content
    assert not_printed(content, told.site.zone) == []
    assert data_of(content)["confirmation"]["withdrawn_reason"] == "The paver came back."
    assert "valid_until_at" not in data_of(content)["confirmation"]
