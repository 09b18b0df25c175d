"""Marks, measurements, deletions and sweeping, as actions with their entries in the Record."""

import io
import os
import time
from dataclasses import replace
from datetime import timedelta

import pytest
from django.core.exceptions import PermissionDenied
from django.core.management import call_command
from PIL import Image

from readiness import clock
from readiness.actions.errors import Refused
from readiness.actions.fixing import fixes
from readiness.actions.photos.keeping import (
    StaleMarkup,
    add_photo,
    discard_photo,
    line_up_photos,
    remove_photo,
    save_markup,
    save_measurement,
    sweep_unattached,
)
from readiness.actions.reporting import drafts
from readiness.actions.reporting.drafts import change_item
from readiness.models import FingerprintBand, Original, Photo, RecordEntry
from readiness.photos import sizes, store
from readiness.photos.markup import MarkupError, svg_overlay
from readiness.photos.measuring import CannotMeasure
from readiness.rules.defects.catalogue import KINDS
from tests.factories import make_contact, make_draft, make_issued, make_item
from tests.photos.pictures import encoded, jpeg, landmark, scene
from tests.recorded import broken

pytestmark = pytest.mark.django_db

ARROW = {"kind": "arrow", "from": [0.1, 0.1], "to": [0.5, 0.5]}
MARKS = {
    "corners": [[0.2, 0.2], [0.6, 0.2], [0.6, 0.6], [0.2, 0.6]],
    "start": [0.3, 0.3],
    "end": [0.3, 0.5],
    "version": 2,
    "wanted": "distance",
    "direction": "straight",
    "set": [{"shown_px": 358, "zoom": 8.0, "loupe": True}] * 6,
    "reference": {"kind": "known", "width_mm": 400, "height_mm": 400, "tolerance_mm": 1},
}


def send(user, site, content=None, **options):
    content = content or jpeg(scene(1, (900, 900)))
    return add_photo(user, site, io.BytesIO(content), filename="wall.jpg", **options)


def test_markup_is_kept_as_data_and_recorded_by_its_digest(applicator, site):
    photo = send(applicator, site)
    markup = save_markup(applicator, photo, [ARROW], seen_version=0)
    assert (markup.shapes, markup.version) == ([ARROW], 1)
    entry = RecordEntry.objects.get(site=site, verb="photo_marked")
    assert entry.data["marks"] == 1
    assert len(entry.data["marks_sha256"]) == 64


def test_the_same_marks_sent_again_change_nothing(applicator, site):
    photo = send(applicator, site)
    save_markup(applicator, photo, [ARROW], seen_version=0)
    again = save_markup(applicator, photo, [ARROW], seen_version=0)
    assert again.version == 1
    assert RecordEntry.objects.filter(verb="photo_marked").count() == 1


def test_marks_that_somebody_else_changed_are_not_overwritten(applicator, site):
    photo = send(applicator, site)
    save_markup(applicator, photo, [ARROW], seen_version=0)
    other = {"kind": "text", "at": [0.5, 0.5], "text": "here"}
    with pytest.raises(StaleMarkup) as stale:
        save_markup(applicator, photo, [other], seen_version=0)
    assert stale.value.markup.shapes == [ARROW]
    assert save_markup(applicator, photo, [other], seen_version=1).version == 2


def test_a_builder_contact_marks_nothing(contact, site):
    photo = send(contact, site)
    with pytest.raises(PermissionDenied):
        save_markup(contact, photo, [ARROW], seen_version=0)


@pytest.mark.parametrize(
    ("shapes", "words"),
    [
        ("arrow", "Not all marks arrived"),
        ([{"kind": "star"}], "unknown kind"),
        ([ARROW] * 61, "up to 60"),
        ([{**ARROW, "to": [0.1, 0.1]}], "two different ends"),
        ([{"kind": "text", "at": [0.1, 0.1], "text": "  "}], "no words"),
        ([{"kind": "text", "at": [0.1, 0.1], "text": "x" * 81}], "80 characters"),
        ([{"kind": "circle", "box": [0.1, 0.1, 0.1, 0.5]}], "too small"),
        ([{"kind": "circle", "box": [0.1, 0.1, float("nan"), 0.5]}], "no place"),
        ([{"kind": "blur", "box": [0.1, 0.1, True, 0.5]}], "no place"),
    ],
)
def test_shapes_that_make_no_sense_are_refused(shapes, words, applicator, site):
    photo = send(applicator, site)
    with pytest.raises(MarkupError, match=words):
        save_markup(applicator, photo, shapes, seen_version=0)


def test_unknown_fields_are_dropped_and_text_is_escaped_when_drawn(applicator, site):
    photo = send(applicator, site)
    shape = {"kind": "text", "at": [5, -1], "text": "<script>&", "onload": "alert(1)"}
    markup = save_markup(applicator, photo, [shape], seen_version=0)
    assert markup.shapes == [{"kind": "text", "at": [1.0, 0.0], "text": "<script>&"}]
    drawn = svg_overlay(markup.shapes, 1600, 1200)
    assert "<script>" not in drawn
    assert "&lt;script&gt;&amp;" in drawn


def test_a_blur_is_burned_into_every_served_size_and_the_original_stays(applicator, site):
    content = encoded("PNG", Image.effect_noise((800, 800), 90).convert("RGB"))
    photo = send(applicator, site, content)
    blur = {"kind": "blur", "box": [0.25, 0.25, 0.5, 0.5]}
    save_markup(applicator, photo, [blur], seen_version=0)
    photo = Photo.objects.with_originals().get(pk=photo.pk)
    for size in sizes.SIZES:
        with Image.open(sizes.open_size(photo, size)) as picture:
            grey, side = picture.convert("L"), picture.width
            inside = grey.crop([int(side * part) for part in (0.27, 0.27, 0.48, 0.48)])
            outside = grey.crop([int(side * part) for part in (0.6, 0.6, 0.9, 0.9)])
            assert spread(inside) < 12
            assert spread(outside) > 25
    with Image.open(sizes.open_size(photo, "large", clean=True)) as clean:
        assert spread(clean.convert("L").crop((250, 250, 350, 350))) > 25
    assert store.open_file(photo.original.storage_name).read() == content


def test_a_blur_holds_wherever_the_site_shows_the_same_file(applicator, site):
    content = jpeg(scene(9))
    one, other = send(applicator, site, content), send(applicator, site, content)
    save_markup(applicator, other, [ARROW], seen_version=0)
    blur = {"kind": "blur", "box": [0.2, 0.2, 0.5, 0.5]}
    save_markup(applicator, one, [blur], seen_version=0)
    other.refresh_from_db()
    assert other.markup.shapes == [ARROW, blur]
    assert other.markup.version == 2
    assert broken(site) == ""


def spread(picture) -> float:
    from PIL import ImageStat

    return ImageStat.Stat(picture).stddev[0]


def test_a_measurement_is_worked_out_here_and_fills_the_item(applicator, site):
    item = make_item(applicator, make_draft(applicator, site), kind="soil_against_brick")
    photo = send(applicator, site)
    change_item(applicator, item, photos=[photo])
    photo.refresh_from_db()
    lie = {**MARKS, "value_mm": 5, "uncertainty_mm": 0}
    kept = save_measurement(applicator, photo, lie, fill_item=True)
    assert kept.value_mm == 200
    assert 1 <= kept.uncertainty_mm < 10
    item.refresh_from_db()
    assert (item.measured_value, item.measured_from) == (200, "photo")
    assert item.measured_uncertainty == kept.uncertainty_mm
    again = save_measurement(applicator, photo, MARKS, measurement_id=kept.pk)
    assert again == kept
    assert RecordEntry.objects.filter(verb="photo_measured").count() == 1


def test_a_measurement_without_marks_says_what_is_missing(applicator, site):
    photo = send(applicator, site)
    for marks, words in (
        ({}, "earlier version"),
        ({**MARKS, "reference": None}, "what the four corners are"),
        ({**MARKS, "direction": ""}, "straight, upright"),
        ({**MARKS, "wanted": "gauge"}, "four corners on bed joints"),
        ({**MARKS, "corners": []}, "all four corners"),
        ({**MARKS, "end": None}, "both ends"),
        ({**MARKS, "reference": {"kind": "bricks", "bricks": 0, "courses": 1}}, "bricks along"),
        ({**MARKS, "reference": {"kind": "known", "width_mm": "wide"}}, "width, height"),
    ):
        with pytest.raises(CannotMeasure, match=words):
            save_measurement(applicator, photo, marks)


def test_a_measurement_of_an_issued_item_is_kept_but_changes_nothing(applicator, site):
    photo = send(applicator, site)
    with pytest.raises(Refused, match="takes no measurement"):
        save_measurement(applicator, photo, MARKS, fill_item=True)


def test_photos_are_lined_up_by_two_or_three_places(applicator, site, contact):
    before, after = send(applicator, site), send(contact, site, jpeg(landmark(900, 900)))
    pairs = [[[0.1, 0.1], [0.2, 0.1]], [[0.9, 0.5], [0.8, 0.6]]]
    assert line_up_photos(applicator, after, before, pairs).alignment == pairs
    for bad in ([], pairs[:1], [*pairs, *pairs], "x", [[1], [2]], [[["a", 1], [0, 0]]] * 2):
        with pytest.raises(Refused, match="two or three places"):
            line_up_photos(applicator, after, before, bad)


PAIRS = [[[0.1, 0.1], [0.2, 0.1]], [[0.9, 0.5], [0.8, 0.6]]]


def lined_up(site) -> int:
    return RecordEntry.objects.filter(site=site, verb="photos_lined_up").count()


def test_a_contact_lines_up_only_what_they_sent(applicator, site, contact):
    before, theirs = send(applicator, site), send(applicator, site, jpeg(landmark(900, 900)))
    with pytest.raises(PermissionDenied, match="Only the applicator can line up"):
        line_up_photos(contact, theirs, before, PAIRS)
    colleague = make_contact(contact.memberships.get().builder)
    own = send(contact, site, jpeg(landmark(800, 800)))
    with pytest.raises(PermissionDenied):
        line_up_photos(colleague, own, before, PAIRS)
    assert lined_up(site) == 0
    line_up_photos(contact, own, before, PAIRS)
    assert lined_up(site) == 1


def test_a_reviewed_fix_keeps_how_it_lies_over_its_before_photo(applicator, site, contact):
    item = make_issued(applicator, site).items.get()
    before, after = item.photos.get(), send(contact, site, jpeg(landmark(900, 900)))
    fixes.report_fixed(contact, item, photos=[after])
    line_up_photos(contact, after, before, PAIRS)
    item.refresh_from_db()
    fixes.send_back(applicator, item, reason="Still open.")
    with pytest.raises(PermissionDenied, match="until it is reviewed"):
        line_up_photos(contact, after, before, PAIRS[::-1])
    after.refresh_from_db()
    assert after.alignment == PAIRS
    line_up_photos(applicator, after, before, PAIRS[::-1])
    assert lined_up(site) == 2


def test_the_same_places_again_are_no_entry(applicator, site):
    before, after = send(applicator, site), send(applicator, site, jpeg(landmark(900, 900)))
    line_up_photos(applicator, after, before, PAIRS)
    line_up_photos(applicator, after, before, PAIRS)
    assert lined_up(site) == 1


def test_deleting_a_photo_keeps_its_digest_and_the_chain(applicator, site, tmp_path):
    photo = send(applicator, site, jpeg(scene(4), lat=-37.5, lon=145.0))
    name = photo.original.storage_name
    digest = photo.original_id
    with pytest.raises(Refused, match="Say why"):
        remove_photo(applicator, photo, " ")
    delete_for_good(applicator, photo)
    assert not store.exists(name)
    assert not list((tmp_path / "photos" / "sizes").rglob(f"{digest}*"))
    entry = RecordEntry.objects.get(verb="photo_removed")
    assert entry.data["sha256"] == digest
    photo.refresh_from_db()
    assert photo.is_removed
    assert photo.latitude is None
    original = Original.objects.get(pk=digest)
    assert original.is_deleted
    assert original.metadata == {}
    assert not FingerprintBand.objects.exists()
    assert broken(site) == ""


def delete_for_good(user, photo):
    """Delete and run what waits for the transaction to be kept."""
    from django.test import TestCase

    with TestCase.captureOnCommitCallbacks(execute=True):
        remove_photo(user, photo, "The home owner asked for it.")


def test_bytes_that_another_photo_needs_are_kept(applicator, site):
    content = jpeg(scene(5))
    one, other = send(applicator, site, content), send(applicator, site, content)
    delete_for_good(applicator, one)
    assert store.exists(other.original.storage_name)
    delete_for_good(applicator, other)
    assert not store.exists(other.original.storage_name)
    back = send(applicator, site, content)
    assert store.exists(back.original.storage_name)
    assert not back.original.is_deleted


def test_only_the_owner_deletes(contact, site):
    photo = send(contact, site)
    with pytest.raises(PermissionDenied):
        remove_photo(contact, photo, "No.")


def test_sweeping_takes_only_uploads_that_nothing_uses_for_a_day(applicator, contact, site):
    with clock.at(clock.now() - timedelta(hours=30)):
        old = send(contact, site)
        used = send(contact, site, jpeg(landmark()))
    new = send(contact, site, encoded("PNG"))
    draft, run = make_draft(applicator, site), site.wall_runs.first()
    drafts.check_run(applicator, draft, run, photos=[used])
    assert sweep_unattached() == [old]
    assert {used, new} <= set(Photo.objects.kept())
    assert broken(site) == ""


def test_tidy_photos_shows_orphans_and_deletes_them_only_when_told(
    applicator, site, tmp_path, capsys
):
    kept = send(applicator, site)
    Photo.objects.update(on_site=True)
    folder = tmp_path / "photos"
    orphans = [folder / "originals/ab/cd" / ("ab" * 32), folder / "incoming/photo-x/original"]
    for path in orphans:
        path.parent.mkdir(parents=True)
        path.write_bytes(b"x")
        os.utime(path, (time.time() - 90_000,) * 2)
    young = folder / "originals/cd/ef" / ("cd" * 32)
    young.parent.mkdir(parents=True)
    young.write_bytes(b"x")
    call_command("tidy_photos")
    assert "2 files and 0 unused uploads found; nothing was deleted" in capsys.readouterr().out
    assert all(path.exists() for path in orphans)
    call_command("tidy_photos", "--delete")
    assert not any(path.exists() for path in orphans)
    assert young.exists()
    assert store.exists(kept.original.storage_name)
    os.unlink(store.local_path(kept.original.storage_name))
    call_command("tidy_photos")
    assert f"LOST: the original {kept.original_id}" in capsys.readouterr().err


def test_a_photo_sent_again_after_it_was_taken_back_says_again_when_it_was_taken(applicator, site):
    content = jpeg(scene(3), taken="2026:11:20 09:15:00")
    first = add_photo(applicator, site, io.BytesIO(content))
    said = (first.taken_at_local, first.original.metadata, first.original.fingerprint)
    assert said[0]
    discard_photo(applicator, first)
    again = add_photo(applicator, site, io.BytesIO(content))
    again.original.refresh_from_db()
    assert (again.taken_at_local, again.original.metadata, again.original.fingerprint) == said


def test_what_is_measured_in_something_else_takes_no_mm_from_a_photo(applicator, site, later):
    draft = make_draft(applicator, site)
    item = make_item(applicator, draft, kind="soil_against_brick", photo=False)
    photo = send(applicator, site)
    change_item(applicator, item, photos=[photo])
    photo.refresh_from_db()
    measured = KINDS["soil_against_brick"].measurement
    later.change_kind("soil_against_brick", measurement=replace(measured, unit="%"))
    with pytest.raises(Refused, match="takes no measurement"):
        save_measurement(applicator, photo, MARKS, fill_item=True)
