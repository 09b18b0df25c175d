"""Capture times out of XMP packets, held against exiftool, which reads by itself (ISO 16684-1)."""

import io
from datetime import UTC, datetime

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from readiness.photos import xmp
from readiness.photos.flags import camera_time
from readiness.photos.intake import receive

from .pictures import encoded, exif_with, png_chunk
from .test_metadata import exiftool

HEAD = (
    '<?xpacket begin="\ufeff" id="W5M0MpCehiHzreSzNTczkc9d"?>'
    '<x:xmpmeta xmlns:x="adobe:ns:meta/">'
    '<rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#"'
    ' xmlns:xmp="http://ns.adobe.com/xap/1.0/" xmlns:exif="http://ns.adobe.com/exif/1.0/"'
    ' xmlns:photoshop="http://ns.adobe.com/photoshop/1.0/"'
    ' xmlns:xmpMM="http://ns.adobe.com/xap/1.0/mm/">'
)
TAIL = '</rdf:RDF></x:xmpmeta>\n<?xpacket end="w"?>'


def packet(attributes: str = "", elements: str = "") -> bytes:
    described = f'<rdf:Description rdf:about="" {attributes}>{elements}</rdf:Description>'
    return f"{HEAD}{described}{TAIL}".encode()


def with_packet(kind: str, content: bytes, **options) -> bytes:
    if kind != "PNG":
        return encoded(kind, xmp=content, **options)
    plain = encoded("PNG", **options)
    text = png_chunk(b"iTXt", b"XML:com.adobe.xmp\0\0\0\0\0" + content)
    return plain[:-12] + text + plain[-12:]  # after the picture, where Exif may stand as well


def take(content, site, user):
    return receive(io.BytesIO(content), site=site, uploaded_by=user, filename="a")


@pytest.mark.django_db
@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP", "HEIF", "AVIF"])
@pytest.mark.parametrize(
    ("tag", "name"),
    [
        ("XMP-exif:DateTimeOriginal", "exif:DateTimeOriginal"),
        ("XMP-photoshop:DateCreated", "photoshop:DateCreated"),
        ("XMP-xmp:CreateDate", "xmp:CreateDate"),
    ],
)
def test_the_time_of_each_property_agrees_with_exiftool(
    kind, tag, name, site, applicator, tmp_path
):
    said = "2026-03-04T09:10:11.25+10:30"
    content = with_packet(kind, packet(elements=f"<{name}>{said}</{name}>"))
    read = exiftool(content, tmp_path, tag)[tag.split(":")[1]]
    photo = take(content, site, applicator)
    assert photo.taken_at_local == "2026-03-04T09:10:11"
    assert read == "2026:03:04 09:10:11.25+10:30"
    assert photo.taken_offset == "+10:30"
    assert photo.taken_at == datetime(2026, 3, 3, 22, 40, 11, tzinfo=UTC)
    assert photo.taken_from == name


@pytest.mark.django_db
@pytest.mark.parametrize("kind", ["JPEG", "HEIF"])
def test_the_camera_goes_before_the_packet(kind, site, applicator):
    exif = exif_with(taken="2026:03:04 09:10:11").tobytes()
    said = packet('exif:DateTimeOriginal="2020-01-01T00:00:00+10:00"')
    photo = take(encoded(kind, xmp=said, exif=exif), site, applicator)
    assert (photo.taken_at_local, photo.taken_offset) == ("2026-03-04T09:10:11", "")
    assert photo.taken_from == ""


@pytest.mark.django_db
def test_a_page_and_a_flag_say_where_the_time_is_from(site, applicator, client_for):
    content = with_packet("JPEG", packet('xmp:CreateDate="2026-03-04T09:10:11"'))
    photo = take(content, site, applicator)
    assert camera_time(photo).source.startswith("by the file's XMP data, which gives no time zone")
    page = client_for(applicator).get(f"/photos/{photo.pk}/").content.decode()
    assert "What the file says" in page
    assert "From the file&#x27;s XMP data (xmp:CreateDate)" in page or (
        "From the file's XMP data (xmp:CreateDate)" in page
    )


@pytest.mark.parametrize(
    ("said", "expected"),
    [
        ("2026-03-04T09:10:11+10:00", ("2026:03:04 09:10:11", "+10:00")),
        ("2026-03-04T09:10Z", ("2026:03:04 09:10:00", "+00:00")),
        ("2026-03-04T09:10:11", ("2026:03:04 09:10:11", "")),
        ("2026-03-04", ("", "")),
        ("2026", ("", "")),
        ("yesterday", ("", "")),
        ("2026-03-04T09:10:11+10:00 or so", ("", "")),
        ("", ("", "")),
    ],
)
def test_only_a_time_of_day_counts(said, expected):
    assert xmp.capture_time(packet(f'xmp:CreateDate="{said}"'))[:2] == expected
    assert xmp.capture_time(packet("", f"<xmp:CreateDate>{said}</xmp:CreateDate>"))[:2] == expected


def test_the_best_property_counts_and_one_of_a_source_does_not():
    all_three = packet(
        'xmp:CreateDate="2026-01-01T01:00:00" exif:DateTimeOriginal="2026-01-03T01:00:00"',
        "<photoshop:DateCreated>2026-01-02T01:00:00</photoshop:DateCreated>",
    )
    assert xmp.capture_time(all_three)[0] == "2026:01:03 01:00:00"
    nested = (
        '<xmpMM:DerivedFrom><rdf:Description xmp:CreateDate="2020-01-01T01:00:00"/>'
        "</xmpMM:DerivedFrom>"
    )
    assert xmp.capture_time(packet("", nested)) == ("", "", "")


ENTITIES = b"""<!DOCTYPE x [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;">
<!ENTITY c SYSTEM "file:///etc/passwd">]>"""


def test_a_hostile_packet_costs_its_own_facts_only():
    good = packet('xmp:CreateDate="2026-03-04T09:10:11"')
    body = good[good.index(b"<x:xmpmeta") :]
    assert xmp.capture_time(body)[0]
    assert xmp.capture_time(body + bytes(5000))[0]
    deep = b"<a>" * 100_000 + b"</a>" * 100_000
    for hostile in (
        ENTITIES + body,
        ENTITIES + b"<x>&b;&c;</x>",
        body.replace(b"2026-03", b"&undeclared;2026-03"),
        deep,
        packet("", deep.decode()),
        body[:-40],
        body + b" " * 2_000_000 + b"<x/>",
        b"\xff\xfe\x00",
        b"",
    ):
        assert xmp.capture_time(hostile) == ("", "", "")


@settings(suppress_health_check=[HealthCheck.too_slow], deadline=None, max_examples=300)
@given(at=st.integers(0, 800), patch=st.binary(max_size=12))
def test_any_bytes_give_text_and_never_an_error(at, patch):
    good = packet('xmp:CreateDate="2026-03-04T09:10:11"')
    assert all(isinstance(part, str) for part in xmp.capture_time(good[:at] + patch + good[at:]))
