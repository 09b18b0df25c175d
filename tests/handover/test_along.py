"""An export for the other side: what stays here is in none of its files, and all of it verifies."""

import io
import json
import zipfile

import pytest
from django.core.management import CommandError, call_command
from django.urls import reverse

from readiness.actions.photos.keeping import add_photo
from readiness.evidence import signing
from readiness.handover import BadExport
from readiness.handover.along import WHOLE, Along
from readiness.handover.export import export_site
from readiness.handover.verify import verify_export
from tests.evidence.story import tell
from tests.handover.forging import (
    GATE,
    LAT,
    LON,
    PHONE,
    changed_rows,
    files_of,
    give_bytes,
    make_site_with_secrets,
    resealed,
    rewritten,
)
from tests.photos.pictures import jpeg, scene

pytestmark = pytest.mark.django_db


@pytest.fixture
def site(applicator, contact, builder):
    site = make_site_with_secrets(builder, contact)
    tell(applicator, contact, site)
    add_photo(contact, site, io.BytesIO(jpeg(scene(7), lat=-37.5, lon=145.25)))
    give_bytes(site)
    return site


def text_of(path) -> str:
    files = files_of(path).items()
    return "".join(
        content.decode() for name, content in files if not name.endswith((".jpg", ".pdf", ".sig"))
    )


def test_nothing_that_stays_here_is_in_any_of_its_files(for_others, told):
    done = verify_export(for_others)
    assert done.rows > 20
    assert "photos.latitude" in done.left_out
    text = text_of(for_others)
    people = (told.owner.email, told.contact.email)
    assert len(told.salts) > 20
    for secret in (GATE, LAT, LON, PHONE, "145.25", *people, *told.salts):
        assert secret not in text
    assert not any(name.startswith("originals/") for name in files_of(for_others))


def test_no_key_goes_along_of_what_stays_here(for_others):
    lines = files_of(for_others)["data/commitments.jsonl"].splitlines()
    kept = {row["row"].split("/")[0]: row["keys"] for row in map(json.loads, lines)}
    assert not {"access_notes", "latitude", "longitude"} & kept["site"].keys()
    assert "street" in kept["site"]
    assert not {"file", "latitude", "longitude"} & kept["photo"].keys()


def test_what_is_chosen_goes_along(site, tmp_path):
    """Originals bring the positions in them."""
    there = {"positions": LAT, "access": GATE, "addresses": PHONE}
    for chosen in (*there, "originals"):
        export_site(site, tmp_path / "out.zip", Along.of([chosen]))
        text = text_of(tmp_path / "out.zip")
        goes = "positions" if chosen == "originals" else chosen
        assert [name for name, secret in there.items() if secret in text] == [goes]
        originals = any(name.startswith("originals/") for name in files_of(tmp_path / "out.zip"))
        assert originals is (chosen == "originals")
        verify_export(tmp_path / "out.zip")


def test_everything_that_can_be_chosen_is_the_whole():
    assert Along.of(["originals"]).positions
    assert Along.of(["positions", "originals", "access", "addresses"]) == WHOLE


def test_a_change_is_found_in_it_too(for_others, tmp_path):
    for change, words in (
        (lambda row: row.update(note="Else."), "fix/.* was changed .*note"),
        (lambda row: row.pop("note"), "fix/.* has no note"),
    ):
        bad = rewritten(for_others, tmp_path / "bad.zip", changed_rows("fixes", change))
        with pytest.raises(BadExport, match=words):
            verify_export(resealed(bad, signing.private_key()))


def test_its_first_page_tells_the_story_with_names(for_others, told):
    page = files_of(for_others)["index.html"].decode()
    story = page[page.index("What happened") : page.index("Record")]
    places = [
        story.index(words)
        for words in (
            "issued report 1: 3 things were found.",
            "reported item 1 fixed.",
            "accepted the fix of item 1.",
            "confirmed that the site is ready for treatment",
            "turned the site away: it was not treated.",
            "Soil is back.",
            "recorded the treatment.",
        )
    ]
    assert places == sorted(places)
    assert "withdrew the confirmation." in story
    assert told.owner.name in story
    assert told.contact.name in story


@pytest.mark.long
def test_the_button_sends_the_file_that_was_chosen(site, applicator, contact, client, tmp_path):
    client.force_login(applicator)
    address = reverse("office:export", args=[site.pk])
    assert client.get(address).status_code == 200
    for choice, along in (
        ({"part": "", "access": "on"}, Along(access=True)),
        ({"whole": ""}, WHOLE),
    ):
        answer = client.post(address, choice)
        (tmp_path / "sent.zip").write_bytes(b"".join(answer.streaming_content))
        done = verify_export(tmp_path / "sent.zip")
        assert set(along.left_out()) <= set(done.left_out)
        assert ("originals/" in done.left_out) is not along.originals
    client.force_login(contact)
    assert client.get(address).status_code == 404


@pytest.mark.long
def test_the_command_leaves_out_what_is_not_named(site, tmp_path):
    call_command(
        "export_site", str(site.pk), "--other-side", "--with", "access", out=tmp_path / "o.zip"
    )
    with zipfile.ZipFile(tmp_path / "o.zip") as bundle:
        assert GATE in bundle.read("data/site.jsonl").decode()
        assert LAT not in bundle.read("data/site.jsonl").decode()
    with pytest.raises(CommandError, match="--with goes with --other-side"):
        call_command("export_site", str(site.pk), "--with", "access", out=tmp_path / "o.zip")
