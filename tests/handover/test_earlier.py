"""Exports of earlier versions are read; what another office had not sent is not sent from here."""

import io
import json
import uuid
import zipfile

import pytest

from readiness import clock
from readiness.handover import FORMAT, FORMATS, BadExport
from readiness.handover.earlier import STEPS
from readiness.handover.export import export_site
from readiness.handover.restore import import_site
from readiness.handover.verify import verify_export
from readiness.models import Message, Paper, RecordEntry, Site
from readiness.models.freeze import thawed
from tests.factories import make_site
from tests.handover.test_round_trip import rewritten, with_sums

pytestmark = pytest.mark.django_db


@pytest.fixture
def site(builder, contact):
    site = make_site(builder)
    for number, state in enumerate((Message.State.SENT, Message.State.SENDING)):
        Message.objects.create(
            site=site,
            to=contact,
            kind="report_issued",
            about=uuid.uuid4(),
            key=f"one-{number}",
            queued_at=clock.now(),
            state=state,
            sent_at=clock.now() if state == Message.State.SENT else None,
            claimed_by="worker 1" if state == Message.State.SENDING else "",
        )
    Paper.objects.create(
        site=site,
        kind=Paper.Kind.GUIDE,
        subject="guide/1",
        state=Paper.State.MAKING,
        claimed_by="worker 1",
        requested_at=clock.now(),
    )
    return site


def gone(site):
    """The same database without the site, to bring it back into."""
    Message.objects.all().delete()
    Paper.objects.all().delete()
    with thawed():
        RecordEntry.objects.filter(site=site).delete()
        Site.objects.filter(pk=site.pk).delete()


def as_format_1(path, target):
    """What version 0.1 would have written: without the columns that came later."""
    later = {"state", "attempts", "claimed_by", "given_up_at", "next_try_at", "started_at"}
    later |= {"handed_over_at", "unsure", "invitation_id"}

    def change(name, content):
        if name == "manifest.json":
            return json.dumps({**json.loads(content), "format": "site-export-1"}).encode()
        if name != "data/messages.jsonl":
            return content
        rows = [json.loads(line) for line in content.splitlines()]
        kept = [{key: row[key] for key in row.keys() - later} for row in rows]
        return b"".join(json.dumps(row).encode() + b"\n" for row in kept)

    return with_sums(rewritten(path, target, change))


def test_every_format_but_todays_has_its_step():
    assert set(STEPS) == set(FORMATS[:-1])
    assert FORMAT not in STEPS


@pytest.mark.parametrize("made_as", FORMATS)
def test_what_was_not_sent_elsewhere_is_not_sent_from_here(site, tmp_path, made_as):
    export_site(site, tmp_path / "now.zip")
    path = tmp_path / "now.zip"
    if made_as == "site-export-1":
        path = as_format_1(path, tmp_path / "then.zip")
    gone(site)
    import_site(path)
    states = dict(Message.objects.values_list("key", "state"))
    assert states == {"one-0": "sent", "one-1": "dropped"}
    paper = Paper.objects.get()
    assert (paper.state, paper.claimed_by) == ("queued", "")


def test_an_export_of_a_later_version_is_refused_in_words(site, tmp_path):
    export_site(site, tmp_path / "now.zip")

    def change(name, content):
        if name != "manifest.json":
            return content
        return json.dumps({**json.loads(content), "format": "site-export-99"}).encode()

    later = with_sums(rewritten(tmp_path / "now.zip", tmp_path / "later.zip", change))
    with pytest.raises(BadExport, match="upgrade first"):
        verify_export(later)


def test_the_export_says_todays_format(site, tmp_path):
    export_site(site, tmp_path / "now.zip")
    with zipfile.ZipFile(io.BytesIO((tmp_path / "now.zip").read_bytes())) as bundle:
        assert json.loads(bundle.read("manifest.json"))["format"] == FORMAT
