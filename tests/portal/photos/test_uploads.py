"""Sending photos over HTTP and seeing them by permission."""

import re
import uuid
from datetime import timedelta
from pathlib import Path

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import RequestFactory
from django.urls import reverse
from django.utils import timezone

from portal.photos.forms import handle_uploads
from portal.templatetags.photos import photo_url
from readiness.actions.photos.keeping import save_markup
from readiness.models import Photo, RecordEntry, Site, SpooledOriginal, freeze
from readiness.photos import sizes, store
from tests.factories import make_applicator, make_photo
from tests.photos.pictures import jpeg, landmark
from tests.recorded import broken, record_rows_by_hand

pytestmark = pytest.mark.django_db

README = (Path(__file__).resolve().parents[3] / "README.md").read_text()


@pytest.fixture
def site(builder):
    return Site.objects.create(
        builder=builder,
        street="4 Wattlebird Loop",
        suburb="Quillan Vale",
        state="VIC",
        created_at=timezone.now(),
    )


def send(client, site, content=None, name="wall.jpg", photo_id=None):
    return client.post(
        reverse("photos:upload", args=[site.pk]),
        {
            "id": str(photo_id or uuid.uuid4()),
            "photo": SimpleUploadedFile(name, jpeg() if content is None else content),
        },
    )


def test_a_photo_sent_twice_with_one_id_is_one_photo_and_one_record_entry(
    client_for, applicator, site
):
    client, photo_id = client_for(applicator), uuid.uuid4()
    first = send(client, site, photo_id=photo_id)
    again = send(client, site, photo_id=photo_id)
    assert first.status_code == again.status_code == 200
    assert first.json() == again.json()
    assert first.json()["id"] == str(photo_id)
    entry = RecordEntry.objects.get(site=site, verb="photo_added")
    assert entry.data["sha256"] == Photo.objects.get().original_id
    assert broken(site) == ""


def test_a_refused_file_gets_a_sentence_with_its_name(client_for, applicator, site):
    answer = send(client_for(applicator), site, jpeg(landmark(900, 700))[:-1500], "north gate.jpg")
    assert answer.status_code == 400
    assert "“north gate.jpg” is damaged or incomplete" in answer.json()["error"]
    assert Photo.objects.count() == 0


def test_a_file_over_the_limit_is_refused_without_being_written(
    client_for, applicator, site, monkeypatch
):
    from portal.photos import uploads
    from readiness.photos.limits import Limits

    monkeypatch.setattr(uploads, "LIMITS", Limits(file_bytes=100_000))
    answer = send(client_for(applicator), site, b"\xff\xd8\xff" + b"\0" * 300_000)
    assert answer.status_code == 400
    assert "is larger than 40 MB, the limit for one photo" in answer.json()["error"]


def test_nobody_sends_to_a_site_that_is_not_theirs(client_for, other_contact, site):
    assert send(client_for(other_contact), site).status_code == 404
    anonymous = send(client_for(), site)
    assert anonymous.status_code == 302
    assert Photo.objects.count() == 0


def test_sizes_are_served_by_permission_and_cached_by_version(
    client_for, applicator, contact, other_contact, site
):
    sent = send(client_for(contact), site).json()
    address = sent["small"]
    answer = client_for(contact).get(address)
    assert answer.status_code == 200
    assert answer["Content-Type"] == "image/jpeg"
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert "immutable" in answer["Cache-Control"]
    assert "private" in answer["Cache-Control"]
    unchanged = client_for(applicator).get(address, headers={"If-None-Match": answer["ETag"]})
    assert unchanged.status_code == 304
    assert client_for(other_contact).get(address).status_code == 404
    assert client_for().get(address).status_code == 302


def test_a_picture_that_the_browser_has_is_answered_before_anybody_is_looked_up(
    client_for, contact, other_contact, site, django_assert_num_queries
):
    address = send(client_for(contact), site).json()["small"]
    etag = client_for(contact).get(address)["ETag"]
    clients = [client_for(contact), client_for(other_contact), client_for()]
    with django_assert_num_queries(0):
        for client in clients:
            for told in (etag, f'"x", {etag}', f"W/{etag}"):
                answer = client.get(address, headers={"If-None-Match": told})
                assert (answer.status_code, answer["ETag"]) == (304, etag)
                assert "immutable" in answer["Cache-Control"]
                assert "private" in answer["Cache-Control"]
                assert answer.content == b""


def test_a_picture_takes_four_queries(client_for, contact, site, django_assert_num_queries):
    """The session, the person, whom they work for, and the photo with its markup."""
    client = client_for(contact)
    address = send(client, site).json()["small"]
    client.get(address)
    with django_assert_num_queries(4):
        assert client.get(address).status_code == 200


def test_not_modified_says_nothing_about_a_photo(client_for, other_contact, site):
    """Whoever makes up a version and its ETag hears the same, whether there is a photo or not."""
    version = "0123456789abcdef" * 2
    etag = f'"{version}-small"'
    nothing = reverse("photos:size", args=[uuid.uuid4(), "small"])
    answer = client_for(other_contact).get(
        f"{nothing}?v={version}", headers={"If-None-Match": etag}
    )
    assert answer.status_code == 304
    for address, told in (
        (f"{nothing}?v={version}", '"0123456789ab-large"'),
        (f"{nothing}?v={version}", "*"),
        (f"{nothing}?v={version}&v=1", etag),
        (nothing, etag),
        (f"{nothing}?v=nonsense", '"nonsense-small"'),
        (reverse("photos:size", args=[uuid.uuid4(), "clean"]) + f"?v={version}", etag),
    ):
        asked = client_for(other_contact).get(address, headers={"If-None-Match": told})
        assert asked.status_code == 404, address


def test_a_picture_that_changed_is_sent_anew(client_for, applicator, site):
    client = client_for(applicator)
    sent = send(client, site).json()
    etag = client.get(sent["small"])["ETag"]
    photo = Photo.objects.get()
    save_markup(applicator, photo, [{"kind": "blur", "box": [0, 0, 0.5, 0.5]}], seen_version=0)
    changed = photo_url(Photo.objects.with_originals().get(), "small")
    assert changed != sent["small"]
    answer = client.get(changed, headers={"If-None-Match": etag})
    assert answer.status_code == 200
    assert answer["ETag"] != etag


def test_the_original_with_its_position_is_for_the_applicator_only(
    client_for, applicator, contact, site
):
    content = jpeg(lat=-37.81, lon=144.96)
    sent = send(client_for(contact), site, content).json()
    address = reverse("photos:original", args=[sent["id"]])
    answer = client_for(applicator).get(address)
    assert b"".join(answer.streaming_content) == content
    assert answer["Content-Disposition"].startswith("attachment")
    assert client_for(contact).get(address).status_code == 404


def test_an_x_accel_header_replaces_the_bytes_when_set_up(client_for, applicator, site, settings):
    sent = send(client_for(applicator), site).json()
    settings.READINESS_X_ACCEL_PREFIX = "/kept-photos/"
    answer = client_for(applicator).get(sent["small"])
    assert answer["X-Accel-Redirect"].startswith("/kept-photos/sizes/")
    assert answer.content == b""


# What nginx keeps of an answer that it completes with a file (its X-Accel documentation), and what
# it makes itself for a file.
NGINX_KEEPS = {"Content-Type", "Content-Disposition", "Cache-Control", "Set-Cookie", "Expires"}
NGINX_MAKES = {"ETag", "Content-Length", "X-Accel-Redirect"}
NOT_FOR_PICTURES = {
    "X-Frame-Options",
    "Vary",
    "Referrer-Policy",
    "Cross-Origin-Opener-Policy",
    "Content-Security-Policy",
    "Strict-Transport-Security",
}


def test_the_readme_has_nginx_pass_on_what_protects_a_photo(client_for, applicator, site, settings):
    settings.READINESS_X_ACCEL_PREFIX = "/kept-photos/"
    sent = send(client_for(applicator), site).json()
    answer = client_for(applicator).get(sent["small"])
    example = README.split("<!-- nginx configuration -->")[1].split("```")[1]
    internal = example.split("location /kept-photos/")[1]
    assert "internal;" in internal
    assert "data/photos/;" in internal
    passed = set(re.findall(r"add_header (\S+) ", internal))
    assert set(answer.headers) - NGINX_KEEPS - NGINX_MAKES - NOT_FOR_PICTURES <= passed
    for name in passed:
        assert f"add_header {name} $upstream_http_{name.lower().replace('-', '_')};" in internal
    assert {"X-Content-Type-Options", "Cross-Origin-Resource-Policy"} <= passed


def test_photos_survive_a_form_that_comes_back(applicator, site):
    good = SimpleUploadedFile("good.jpg", jpeg())
    bad = SimpleUploadedFile("bad.jpg", b"no picture")
    request = RequestFactory().post("/", {"photos": [good, bad]})
    request.user = applicator
    photos, errors = handle_uploads(request, site)
    assert [p.filename for p in photos] == ["good.jpg"]
    assert errors == [
        "“bad.jpg” is not a photo that can be read here. Send a JPEG, PNG, WebP, HEIC or AVIF file."
    ]
    again = RequestFactory().post("/", {"photos_kept": [str(photos[0].pk), "nonsense"]})
    again.user = applicator
    assert handle_uploads(again, site).photos == photos


def test_somebody_elses_upload_is_not_kept_in_a_form(applicator, contact, site, client_for):
    sent = send(client_for(contact), site).json()
    request = RequestFactory().post("/", {"photos_kept": [sent["id"]]})
    request.user = applicator
    assert handle_uploads(request, site).photos == []


def test_an_upload_can_be_taken_back_until_it_is_used(client_for, contact, applicator, site):
    client = client_for(contact)
    sent = send(client, site).json()
    address = reverse("photos:discard", args=[sent["id"]])
    assert client_for(applicator).post(address).status_code == 403
    assert client.post(address).status_code == 200
    assert client.get(sent["small"]).status_code == 404
    kept = send(client, site).json()
    Photo.objects.filter(pk=kept["id"]).update(on_site=True)
    record_rows_by_hand(changed=True)
    answer = client.post(reverse("photos:discard", args=[kept["id"]]))
    assert answer.status_code == 409
    assert broken(site) == ""


def test_old_photos_are_deleted_only_by_the_owner_and_only_when_told(
    client_for, applicator, contact, site
):
    send(client_for(contact), site)
    long_ago = timezone.now() - timedelta(days=366 * 11)
    with freeze.without_triggers():
        Photo.objects.update(received_at=long_ago, on_site=True)
    owner, address = client_for(applicator), reverse("photos:old")
    assert "No photos to delete" in owner.get(address).content.decode()
    Site.objects.update(closed_at=long_ago)
    assert "Delete 1 for good" in owner.get(address).content.decode()
    assert client_for(contact).get(address).status_code == 404
    assert client_for(make_applicator()).post(address, {"site": site.pk}).status_code == 403
    assert owner.post(address, {"site": "nonsense"}).status_code == 404
    assert Photo.objects.kept().count() == 1
    answer = owner.post(address, {"site": site.pk}, follow=True)
    assert (
        f"1 photo of {site} is deleted. Its fingerprint stays in the record."
        in answer.content.decode()
    )
    assert Photo.objects.kept().count() == 0
    assert RecordEntry.objects.filter(verb="photo_removed").count() == 1
    assert broken(site) == ""


def test_one_photo_is_deleted_with_a_reason(client_for, applicator, site):
    owner = client_for(applicator)
    sent = send(owner, site).json()
    address = reverse("photos:delete", args=[sent["id"]])
    assert owner.post(address, {"reason": ""}).status_code == 200
    assert Photo.objects.kept().count() == 1
    assert owner.post(address, {"reason": "Sent twice"}).status_code == 302
    assert owner.get(sent["small"]).status_code == 404


def test_an_original_on_another_machine_is_away_and_not_gone(client_for, applicator, site):
    address = reverse("photos:original", args=[(photo := make_photo(site)).pk])
    assert client_for(applicator).get(address).status_code == 404
    SpooledOriginal.objects.create(original=photo.original, machine="the other one")
    browser = client_for(applicator)
    browser.raise_request_exception = False
    answer = browser.get(address)
    assert (answer.status_code, answer["Retry-After"]) == (503, "15")


def test_a_photo_whose_files_are_lost_is_said_to_be_missing(client_for, applicator, contact, site):
    """The picture's place says so on every page, and the photo's own page does in a sentence."""
    send(client_for(applicator), site)
    with freeze.without_triggers():
        Photo.objects.update(uploaded_by=contact)
    photo = Photo.objects.get()
    page = reverse("photos:detail", args=[photo.pk])
    client = client_for(applicator)
    assert "is missing from the portal" not in client.get(page).content.decode()
    store.delete(photo.original.storage_name)
    for name in sizes.SIZES:
        store.delete(sizes.size_name(photo.original, name))
    for name in sizes.SIZES:
        answer = client.get(reverse("photos:size", args=[photo.pk, name]))
        assert answer.status_code == 404
        assert answer["Content-Type"] == "image/svg+xml"
        assert b"Picture missing" in answer.content
    to_measure = client.get(reverse("photos:size", args=[photo.pk, "large"]), {"marks": 1})
    assert (to_measure.status_code, to_measure.content) == (404, b"")
    assert "is missing from the portal" in client.get(page).content.decode()
    assert "is missing from the portal" in client_for(contact).get(page).content.decode()
    assert client.get(reverse("photos:original", args=[photo.pk])).status_code == 404
