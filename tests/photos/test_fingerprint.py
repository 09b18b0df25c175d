"""Near-duplicates: the same picture saved anew is found, other pictures are not, none is missed."""

import io

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image, ImageEnhance

from readiness.models import FingerprintBand, Original
from readiness.photos import fingerprint
from readiness.photos.intake import receive

from .pictures import encoded, scene

INT64 = st.integers(-(2**63), 2**63 - 1)


@given(INT64, st.sets(st.integers(0, 63), max_size=7))
def test_any_fingerprint_within_seven_bits_shares_a_probed_key(value, bits):
    """The pigeonhole argument of the module, on random cases: recall is complete."""
    unsigned = value & (2**64 - 1)
    for bit in bits:
        unsigned ^= 1 << bit
    other = fingerprint.to_signed(unsigned)
    assert fingerprint.distance(value, other) == len(bits)
    assert set(fingerprint.probe_keys(value)) & set(fingerprint.band_keys(other))


@given(INT64)
def test_keys_fit_the_index(value):
    assert len(set(fingerprint.probe_keys(value))) == 68
    assert all(0 <= key < 4 * 65536 for key in fingerprint.probe_keys(value))


def take(picture, site, user, kind="JPEG", **options):
    content = encoded(kind, picture, **options)
    return receive(io.BytesIO(content), site=site, uploaded_by=user, filename="a.jpg").original


DHASH = (
    0xE56A2496966969EA,
    0x2ADB594DE5495DD1,
    0xCDE2A7ADAC86948A,
    0x4A49D5E3D59E8BB4,
    0x9074C5C62E24969A,
    0x13B2D64E26E693B4,
    0x321A12CE4CB6368D,
    0x224AA9B524088A2C,
    0x263599AACC47CB69,
    0xADC0D42B4D4D7244,
)
"""Source: `imagehash.dhash` of ImageHash 4.3.2, an independent library with the same definition, of
`scene(0)` to `scene(9)`. Whatever makes fingerprints later has to agree with it, as those that are
stored are compared with new ones."""


@pytest.mark.django_db
@pytest.mark.parametrize("seed", range(10))
def test_fingerprints_are_those_of_an_independent_library(seed, site, applicator):
    original = take(scene(seed), site, applicator, "PNG", compress_level=1)
    reference = fingerprint.to_signed(DHASH[seed])
    assert fingerprint.distance(original.fingerprint, reference) <= 2


@pytest.mark.django_db
def test_a_picture_saved_anew_is_near_and_others_are_not(site, applicator):
    size = (600, 450)
    originals = [take(scene(seed, size), site, applicator, quality=92) for seed in range(30)]
    for seed in (3, 17):
        picture = scene(seed, size)
        width, height = picture.size
        changed = [
            take(picture, site, applicator, quality=35),
            take(picture.resize((350, 262)), site, applicator),
            take(ImageEnhance.Brightness(picture).enhance(1.15), site, applicator),
            take(picture.crop((3, 3, width - 3, height - 3)), site, applicator),
            take(picture, site, applicator, "WEBP"),
        ]
        for copy in changed:
            near = [digest for digest, _bits in fingerprint.near(copy.fingerprint)]
            assert originals[seed].digest in near
            others = {one.digest for one in originals} - {originals[seed].digest}
            assert not others & set(near)


@pytest.mark.django_db
def test_a_plain_picture_has_no_fingerprint(site, applicator):
    original = take(Image.new("RGB", (900, 700), "white"), site, applicator)
    assert original.fingerprint is None
    assert not FingerprintBand.objects.filter(original=original).exists()


@pytest.mark.django_db
def test_near_sorts_by_distance_and_gives_the_bits():
    for number, value in enumerate((0b0, 0b1, 0b111, (1 << 63) - 1, -(1 << 63))):
        original = Original.objects.create(
            digest=f"{number:064x}",
            byte_size=1,
            media_type="image/jpeg",
            width_px=1,
            height_px=1,
            fingerprint=value,
        )
        fingerprint.index(original)
        fingerprint.index(original)
    found = [(int(digest, 16), bits) for digest, bits in fingerprint.near(0)]
    assert found == [(0, 0), (1, 1), (4, 1), (2, 3)]
