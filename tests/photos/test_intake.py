"""Taking photos in: kept unchanged, stored once, refused with a message, nothing left behind."""

import hashlib
import io
import os
import struct
import subprocess
import uuid
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageCms

from readiness.models import FingerprintBand, Original, Photo
from readiness.photos import sizes, store
from readiness.photos.decoder import DecoderPool
from readiness.photos.intake import clean_name, receive
from readiness.photos.limits import Limits
from readiness.photos.refused import PhotoRefused

from .conftest import files_in
from .pictures import corners, encoded, jpeg, landmark, png_header_only

pytestmark = pytest.mark.django_db


def take(content, site, user, **options):
    return receive(io.BytesIO(content), site=site, uploaded_by=user, filename="a.jpg", **options)


def test_original_bytes_are_kept_unchanged_under_their_digest(site, applicator):
    content = jpeg(taken="2026:03:04 09:10:11")
    photo = take(content, site, applicator)
    assert photo.original_id == hashlib.sha256(content).hexdigest()
    assert store.open_file(photo.original.storage_name).read() == content
    path = store.local_path(photo.original.storage_name)
    printed = subprocess.run(["sha256sum", path], capture_output=True, text=True, check=True)
    assert printed.stdout.split()[0] == photo.original_id


def test_an_original_is_not_lost_in_a_power_cut_and_sizes_can_be_made_again(
    site, applicator, monkeypatch
):
    flushed = []

    def fsync(descriptor):
        flushed.append(Path(os.readlink(f"/proc/self/fd/{descriptor}")))

    monkeypatch.setattr(os, "fsync", fsync)
    original = take(jpeg(), site, applicator).original
    kept = store.local_path(original.storage_name)
    assert {kept.parent, kept.parent.parent} <= set(flushed)
    assert store.local_path(sizes.size_name(original, "small")).parent not in flushed


def test_sha256_of_abc_is_that_of_fips_180_4():
    # FIPS 180-4 example: SHA-256("abc").
    expected = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    assert hashlib.sha256(b"abc").hexdigest() == expected


def test_the_same_file_twice_is_stored_once(site, applicator, photo_folder):
    content = jpeg()
    first, second = take(content, site, applicator), take(content, site, applicator)
    assert first.pk != second.pk
    assert first.original_id == second.original_id
    assert Original.objects.count() == 1
    assert FingerprintBand.objects.count() == 4
    assert len([n for n in files_in(photo_folder) if n.startswith("originals/")]) == 1


def test_the_same_photo_id_sent_twice_is_one_photo(site, applicator):
    photo_id = uuid.uuid4()
    content = jpeg()
    assert take(content, site, applicator, photo_id=photo_id) == take(
        content, site, applicator, photo_id=photo_id
    )
    assert Photo.objects.count() == 1


def test_a_photo_id_of_another_file_is_refused(site, applicator):
    photo_id = uuid.uuid4()
    take(jpeg(), site, applicator, photo_id=photo_id)
    with pytest.raises(PhotoRefused, match="already sent for something else"):
        take(encoded("PNG"), site, applicator, photo_id=photo_id)


@pytest.mark.parametrize(
    ("kind", "media_type"),
    [
        ("JPEG", "image/jpeg"),
        ("PNG", "image/png"),
        ("WEBP", "image/webp"),
        ("HEIF", "image/heic"),
        ("AVIF", "image/avif"),
    ],
)
def test_each_kind_is_found_from_content_not_name(kind, media_type, site, applicator):
    photo = take(encoded(kind), site, applicator)
    assert photo.original.media_type == media_type
    assert (photo.width_px, photo.height_px) == (320, 200)
    with Image.open(sizes.open_size(photo, "small")) as small:
        assert small.format == "JPEG"
        assert corners(small) == ["red", "green", "blue", "white"]


def test_animated_picture_is_reduced_to_its_first_with_a_note(site, applicator):
    frames = [landmark(), Image.new("RGB", (320, 200), "black")]
    content = encoded("WEBP", frames[0], save_all=True, append_images=frames[1:], duration=100)
    photo = take(content, site, applicator)
    assert photo.original.frames == 2
    assert photo.original.metadata["notes"] == [
        "The file holds 2 pictures; only the first is shown."
    ]
    with Image.open(sizes.open_size(photo, "large")) as large:
        assert corners(large) == ["red", "green", "blue", "white"]


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (b"", "is empty"),
        (b"%PDF-1.7 not a picture at all", "is not a photo that can be read here"),
        (b"GIF89a" + b"\0" * 100, "is not a photo that can be read here"),
        (b"\xff\xd8\xff" + b"\0" * 100, "is damaged or incomplete"),
        (jpeg(landmark(800, 600))[:-2000], "is damaged or incomplete"),
        (png_header_only(30000, 30000), "The limit is 80 megapixels"),
        (png_header_only(9500, 9500), "has 90.2 megapixels. The limit is 80 megapixels"),
        (png_header_only(21000, 100), "20000 pixels a side"),
    ],
)
def test_a_bad_file_is_refused_by_name_and_leaves_nothing(
    content, message, site, applicator, photo_folder
):
    with pytest.raises(PhotoRefused) as refused:
        receive(io.BytesIO(content), site=site, uploaded_by=applicator, filename="gate side.jpg")
    assert "“gate side.jpg”" in refused.value.message
    assert message in refused.value.message
    assert files_in(photo_folder) == []
    assert Photo.objects.count() == Original.objects.count() == 0


def test_a_file_over_the_byte_limit_is_refused_while_it_streams(site, applicator, photo_folder):
    class Endless(io.RawIOBase):
        sent = 0

        def read(self, size=-1):
            self.sent += size
            return b"\xff" * size

    endless = Endless()
    with pytest.raises(PhotoRefused, match=r"larger than 1 MB, the limit for one photo"):
        receive(endless, site=site, uploaded_by=applicator, limits=Limits(file_bytes=1 << 20))
    assert endless.sent < 2 << 20
    assert files_in(photo_folder) == []


def test_truncated_files_are_refused_after_weasyprint_was_imported(site, applicator):
    import weasyprint  # noqa: F401
    from PIL import ImageFile

    assert ImageFile.LOAD_TRUNCATED_IMAGES, "WeasyPrint no longer sets this: test it otherwise"
    whole = jpeg(landmark(1600, 1200))
    for kept in (0.3, 0.6, 0.9, 0.99):
        with pytest.raises(PhotoRefused, match="damaged or incomplete"):
            take(whole[: int(len(whole) * kept)], site, applicator)
    take(whole, site, applicator)


def test_a_decoder_that_runs_out_of_time_costs_only_its_photo(tmp_path):
    from readiness.photos.decoder import DecodingError, decode

    pool = DecoderPool(Limits(seconds=0), size=1)
    slow = tmp_path / "slow.png"
    slow.write_bytes(encoded("PNG", Image.new("RGB", (1600, 1200), "tan"), compress_level=1))
    endless = [[0, 0, 1, 1]] * 5000  # minutes of blurring on any machine; stopped after a second
    with pytest.raises(DecodingError) as error:
        decode(slow, "PNG", tmp_path / "l", tmp_path / "s", blurs=endless, pool=pool)
    assert error.value.problem == "too_slow"
    small = tmp_path / "small.png"
    small.write_bytes(encoded("PNG"))
    assert decode(small, "PNG", tmp_path / "l", tmp_path / "s", pool=pool)["width_px"] == 320
    pool.close()


def test_a_decoder_that_needs_too_much_memory_says_so(tmp_path):
    from readiness.photos.decoder import DecodingError, decode

    pool = DecoderPool(Limits(memory_bytes=300 << 20), size=1)
    large = tmp_path / "large.png"
    large.write_bytes(encoded("PNG", Image.new("RGB", (8000, 8000), "grey"), compress_level=1))
    with pytest.raises(DecodingError) as error:
        decode(large, "PNG", tmp_path / "l", tmp_path / "s", pool=pool)
    assert error.value.problem == "too_much_memory"
    pool.close()


def test_sizes_fit_1600_and_400_pixels_and_carry_no_metadata(site, applicator):
    content = jpeg(landmark(4000, 3000), make="Acme", lat=-37.5, lon=145.0, orientation=6)
    photo = take(content, site, applicator)
    assert (photo.width_px, photo.height_px) == (3000, 4000)
    for size, expected in (("large", (1200, 1600)), ("small", (300, 400))):
        with Image.open(sizes.open_size(photo, size)) as picture:
            assert picture.size == expected
            assert not picture.getexif()
            assert "icc_profile" not in picture.info
            assert "xmp" not in picture.info


def test_sizes_are_there_once_a_photo_is_taken_in(site, applicator):
    photo = take(jpeg(), site, applicator)
    assert photo.original.sizes_made_at
    assert all(store.exists(sizes.size_name(photo.original, size)) for size in sizes.SIZES)


def test_sizes_are_made_again_when_they_are_gone(site, applicator):
    photo = take(jpeg(), site, applicator)
    sizes.drop_sizes(photo.original)
    assert not store.exists(sizes.size_name(photo.original, "large"))
    with Image.open(sizes.open_size(photo, "large")) as picture:
        assert picture.size == (320, 200)
    sizes.make_sizes(photo)


def test_wide_gamut_colours_are_converted_to_srgb(site, applicator):
    flat = Image.new("RGB", (100, 80), (120, 130, 60))
    photo = take(encoded("PNG", flat, icc_profile=display_p3()), site, applicator)
    with Image.open(sizes.open_size(photo, "small")) as picture:
        shown = picture.getpixel((50, 40))
    # D50-adapted sRGB primaries as in the ICC's sRGB profile (from memory: IEC 61966-2-1).
    srgb = np.array([[0.4361, 0.3851, 0.1431], [0.2225, 0.7169, 0.0606], [0.0139, 0.0971, 0.7141]])
    linear = np.linalg.solve(srgb, P3_PRIMARIES @ (np.array([120, 130, 60]) / 255) ** 2.2)
    expected = 255 * np.where(
        linear <= 0.0031308, 12.92 * linear, 1.055 * np.clip(linear, 0, 1) ** (1 / 2.4) - 0.055
    )
    assert np.abs(np.array(shown) - expected).max() < 4
    assert photo.original.metadata["notes"] == []


def test_a_useless_colour_profile_costs_a_note_and_not_the_photo(site, applicator):
    lab = ImageCms.ImageCmsProfile(ImageCms.createProfile("LAB")).tobytes()
    odd = take(encoded("PNG", icc_profile=lab), site, applicator)
    assert "could not be read" in odd.original.metadata["notes"][0]
    huge = take(encoded("JPEG", icc_profile=b"\1" * 3_000_000), site, applicator)
    assert "too large" in huge.original.metadata["notes"][0]


# Display P3's primaries, adapted to D50, as columns (from memory: the profile's rXYZ, gXYZ, bXYZ).
P3_PRIMARIES = np.array(
    [[0.51512, 0.29198, 0.15710], [0.24120, 0.69225, 0.06657], [-0.00105, 0.04189, 0.78407]]
)


def display_p3() -> bytes:
    """A small matrix profile, version 2 (ICC.1:2001): three primaries and a gamma of 2.2."""

    def fixed(values) -> bytes:
        return b"".join(struct.pack(">i", round(v * 65536)) for v in values)

    def xyz(values) -> bytes:
        return b"XYZ \0\0\0\0" + fixed(values)

    name = b"Wide test space\0"
    description = b"desc\0\0\0\0" + struct.pack(">I", len(name)) + name + b"\0" * 79
    curve = b"curv\0\0\0\0" + struct.pack(">IH", 1, round(2.2 * 256)) + b"\0\0"
    tags = [(b"desc", description), (b"cprt", b"text\0\0\0\0none\0"), (b"wtpt", xyz(D50))]
    tags += [(n, xyz(P3_PRIMARIES[:, i])) for i, n in enumerate((b"rXYZ", b"gXYZ", b"bXYZ"))]
    tags += [(n, curve) for n in (b"rTRC", b"gTRC", b"bTRC")]
    offset, table, body = 128 + 4 + 12 * len(tags), b"", b""
    for tag, content in tags:
        content += b"\0" * (-len(content) % 4)
        table += tag + struct.pack(">II", offset + len(body), len(content))
        body += content
    head = struct.pack(">I4sI", offset + len(body), b"\0" * 4, 0x02100000) + b"mntrRGB XYZ "
    head += b"\0" * 12 + b"acsp" + b"\0" * 28 + fixed(D50)
    return head.ljust(128, b"\0") + struct.pack(">I", len(tags)) + table + body


D50 = (0.9642, 1.0, 0.8249)


def test_file_names_are_cleaned_for_showing():
    assert clean_name("C:\\photos\\wall\x00\x1b.jpg") == "wall.jpg"
    assert clean_name("../../etc/passwd") == "passwd"
    assert clean_name("") == "photo"
    assert len(clean_name("x" * 900 + ".jpg")) == 200


@pytest.mark.django_db(transaction=True)
def test_the_same_file_sent_by_several_threads_at_once_is_one_original(site, applicator):
    from django.db import connection

    content, photo_id = jpeg(), uuid.uuid4()

    def send(_):
        try:
            return take(content, site, applicator, photo_id=photo_id).pk
        finally:
            connection.close()

    with ThreadPoolExecutor(4) as threads:
        assert set(threads.map(send, range(8))) == {photo_id}
    assert Photo.objects.count() == Original.objects.count() == 1
