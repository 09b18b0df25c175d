"""What the camera said, held against exiftool as an independent reader (CIPA DC-008)."""

import io
import json
import subprocess
from datetime import UTC, datetime
from decimal import Decimal

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL import Image, ImageOps

from readiness.photos import metadata, sizes
from readiness.photos.intake import receive

from .pictures import corners, encoded, exif_with, jpeg, landmark

UPRIGHT = ["red", "green", "blue", "white"]
TO_CAMERA = {  # how to turn an upright picture so that a given Exif value turns it back
    1: None,
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_90,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_270,
}


def exiftool(content: bytes, tmp_path, *tags) -> dict:
    path = tmp_path / "picture"
    path.write_bytes(content)
    command = ["exiftool", "-json", "-n", *[f"-{tag}" for tag in tags], str(path)]
    return json.loads(subprocess.run(command, capture_output=True, check=True).stdout)[0]


@pytest.mark.django_db
@pytest.mark.parametrize("value", range(1, 9))
def test_each_exif_orientation_of_a_jpeg_is_shown_upright(value, site, applicator, tmp_path):
    stored = landmark() if TO_CAMERA[value] is None else landmark().transpose(TO_CAMERA[value])
    content = jpeg(stored, orientation=value)
    read = exiftool(content, tmp_path, "Orientation", "ImageWidth", "ImageHeight")
    assert read["Orientation"] == value
    photo = receive(io.BytesIO(content), site=site, uploaded_by=applicator, filename="a.jpg")
    assert photo.original.orientation == read["Orientation"]
    turned = value >= 5
    shown = (read["ImageWidth"], read["ImageHeight"])
    assert (photo.width_px, photo.height_px) == (shown[::-1] if turned else shown) == (320, 200)
    for size in sizes.SIZES:
        with Image.open(sizes.open_size(photo, size)) as picture:
            assert corners(picture) == UPRIGHT


@pytest.mark.django_db
@pytest.mark.parametrize("value", range(1, 9))
def test_each_orientation_of_a_heic_is_shown_upright(value, site, applicator, tmp_path):
    stored = landmark() if TO_CAMERA[value] is None else landmark().transpose(TO_CAMERA[value])
    content = encoded("HEIF", stored, exif=exif_with(orientation=value).tobytes(), quality=90)
    read = exiftool(content, tmp_path, "Orientation", "Rotation", "ImageWidth", "ImageHeight")
    photo = receive(io.BytesIO(content), site=site, uploaded_by=applicator, filename="a.heic")
    assert photo.original.orientation == read.get("Orientation", 1)
    assert (photo.width_px, photo.height_px) == (320, 200)
    with Image.open(sizes.open_size(photo, "large")) as picture:
        assert corners(picture) == UPRIGHT


@pytest.mark.django_db
@pytest.mark.parametrize("value", range(1, 9))
def test_each_orientation_of_an_avif_is_shown_upright(value, site, applicator, tmp_path):
    stored = landmark() if TO_CAMERA[value] is None else landmark().transpose(TO_CAMERA[value])
    content = encoded("AVIF", stored, exif=exif_with(orientation=value).tobytes(), quality=90)
    photo = receive(io.BytesIO(content), site=site, uploaded_by=applicator, filename="a.avif")
    assert photo.original.orientation == value
    assert (photo.width_px, photo.height_px) == (320, 200)
    with Image.open(sizes.open_size(photo, "large")) as picture:
        assert corners(picture) == UPRIGHT


def test_pillow_turns_the_same_way():
    for value, turn in TO_CAMERA.items():
        picture = landmark() if turn is None else landmark().transpose(turn)
        with Image.open(io.BytesIO(jpeg(picture, orientation=value))) as read:
            assert corners(ImageOps.exif_transpose(read)) == UPRIGHT


@pytest.mark.django_db
@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP", "HEIF", "AVIF"])
def test_time_camera_and_position_agree_with_exiftool(kind, site, applicator, tmp_path):
    exif = exif_with(
        taken="2026:03:04 09:10:11",
        offset="+10:30",
        make="Acme",
        model="Model 5",
        software="Camera 1.2",
        lat=-37.813611,
        lon=144.963056,
    )
    content = encoded(kind, exif=exif.tobytes())
    read = exiftool(
        content,
        tmp_path,
        "DateTimeOriginal",
        "OffsetTimeOriginal",
        "Make",
        "Model",
        "Software",
        "GPSLatitude",
        "GPSLongitude",
    )
    photo = receive(io.BytesIO(content), site=site, uploaded_by=applicator, filename="a")
    photo.refresh_from_db()
    assert photo.taken_at_local.replace("-", ":").replace("T", " ") == read["DateTimeOriginal"]
    assert photo.taken_offset == read["OffsetTimeOriginal"] == "+10:30"
    assert photo.taken_at == datetime(2026, 3, 3, 22, 40, 11, tzinfo=UTC)
    assert (photo.camera_make, photo.camera_model) == (read["Make"], read["Model"])
    assert photo.software == read["Software"]
    assert float(photo.latitude) == pytest.approx(read["GPSLatitude"], abs=2e-6)
    assert float(photo.longitude) == pytest.approx(read["GPSLongitude"], abs=2e-6)


@pytest.mark.django_db
def test_a_missing_offset_is_missing_and_not_guessed(site, applicator):
    content = jpeg(taken="2026:03:04 09:10:11")
    photo = receive(io.BytesIO(content), site=site, uploaded_by=applicator, filename="a")
    assert photo.taken_at_local == "2026-03-04T09:10:11"
    assert photo.taken_offset == ""
    assert photo.taken_at is None


@pytest.mark.parametrize(
    ("offset", "hour"), [("+00:00", 12), ("+10:30", 1), ("-03:30", 15), ("-10:00", 22)]
)
def test_the_time_of_a_photo_follows_from_its_own_time_and_offset(offset, hour):
    taken = metadata.aware_time("2026-03-04T12:00:00", offset)
    assert taken == datetime(2026, 3, 4, hour, 30 if offset.endswith(":30") else 0, tzinfo=UTC)


@pytest.mark.parametrize("value", ["", "+9", "10:00", "+25:00", "+10:75", None, 5, b"\xff"])
def test_nonsense_offsets_count_as_missing(value):
    assert metadata.offset(value) == ""


@pytest.mark.parametrize("value", ["0000:00:00 00:00:00", "2026:13:01 00:00:00", "    :  :  ", 7])
def test_times_that_are_no_times_count_as_missing(value):
    assert metadata.local_time(value) == ""


def test_a_camera_without_a_fix_has_no_position():
    gps = {1: "N", 2: (0, 0, 0), 3: "E", 4: (0, 0, 0)}
    assert metadata.position(gps) is None
    assert metadata.position({2: (91, 0, 0), 1: "N", 4: (1, 0, 0), 3: "E"}) is None
    assert metadata.position({2: (89, 60, 0), 1: "N", 4: (180, 0, 0), 3: "West"}) == (90, -180)
    assert metadata.position({2: (90, 0, 0.1), 1: "N", 4: (1, 0, 0), 3: "E"}) is None
    assert metadata.position({2: (0, 0, 0), 1: "S", 4: (1, 0, 0), 3: "E"}) == (0, 1)
    assert metadata.position({2: (1, 0, 0), 1: "S", 4: (0, 0, 0), 3: "E"}) == (-1, 0)
    assert metadata.position({2: (1, 0, 0), 1: "", 4: (1, 0, 0), 3: "E"}) is None
    assert metadata.position({1: "S", 2: (37, 30, 0), 3: "E", 4: (145, 0, 0)}) == (
        Decimal("-37.5"),
        Decimal("145"),
    )


TAGS = [value for name, value in vars(metadata).items() if name.isupper() and type(value) is int]
VALUES = st.one_of(
    st.none(),
    st.integers(),
    st.floats(),
    st.text(max_size=20),
    st.binary(max_size=20),
    st.tuples(st.floats(), st.floats(), st.floats()),
)


@settings(suppress_health_check=[HealthCheck.too_slow], deadline=None)
@given(st.dictionaries(st.sampled_from(TAGS), VALUES, max_size=8))
def test_any_exif_values_give_json_and_never_an_error(values):
    class Exif(dict):
        def get_ifd(self, tag):
            return values

    facts = metadata.from_exif(Exif(values))
    json.dumps(facts)
    assert all(len(v) <= 120 for v in facts.values() if isinstance(v, str))
