"""Hostile and broken files: a sentence for each, nothing left behind, no memory past the limit."""

import io
import resource
from functools import cache
from itertools import islice

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from readiness.models import Original, Photo
from readiness.photos import sizes, store
from readiness.photos.decoder import POOL
from readiness.photos.intake import receive
from readiness.photos.limits import LIMITS, MEBIBYTE
from readiness.photos.refused import PhotoRefused

from .bad_files import bad_files
from .conftest import files_in
from .pictures import encoded, jpeg

pytestmark = pytest.mark.django_db


def status_kib(pid, name: str) -> int:
    """A memory figure of a process (proc(5): VmHWM, VmPeak, VmRSS), in KiB."""
    with open(f"/proc/{pid}/status") as lines:
        return next(int(line.split()[1]) for line in lines if line.startswith(f"{name}:"))


def outcome(content: bytes, site, user):
    """The photo and no sentence, or no photo and the sentence of the refusal."""
    try:
        file = io.BytesIO(content)
        return receive(file, site=site, uploaded_by=user, filename="bad.jpg"), ""
    except PhotoRefused as refused:
        return None, refused.message


@pytest.mark.parametrize(
    "first", [0, *(pytest.param(n, marks=pytest.mark.long) for n in range(1, 6))]
)
def test_every_bad_file_gets_a_sentence_or_is_harmless(site, applicator, photo_folder, first):
    """Every sixth from the first on: of each sort some, and between the six of them all."""
    receive(io.BytesIO(jpeg()), site=site, uploaded_by=applicator)  # start a decoder
    before_kib = status_kib("self", "VmRSS")
    count = refused = 0
    for name, content, must_refuse in islice(bad_files(), first, None, 6):
        count += 1
        known = set(files_in(photo_folder))
        rows = Original.objects.count(), Photo.objects.count()
        photo, sentence = outcome(content, site, applicator)
        if photo is None:
            refused += 1
            assert sentence.startswith("“bad.jpg” "), name
            assert set(files_in(photo_folder)) == known, f"{name} left a file behind"
            assert rows == (Original.objects.count(), Photo.objects.count()), name
        else:
            assert not must_refuse, f"{name} was taken in"
            assert store.open_file(photo.original.storage_name).read() == content, name
            served = sizes.open_size(photo, "large").read()
            assert served[:3] == b"\xff\xd8\xff", name
            assert b"script" not in served, name
            assert b"%PDF" not in served, name
        assert not list((photo_folder / "incoming").iterdir()), name
    assert count >= 50
    assert refused >= 25
    for pid in POOL.process_ids():
        assert status_kib(pid, "VmPeak") <= LIMITS.memory_bytes // 1024
        assert status_kib(pid, "VmHWM") <= 400 * 1024
    assert status_kib("self", "VmRSS") - before_kib < 150 * 1024


def test_a_decoder_is_confined_by_the_system(site, applicator):
    receive(io.BytesIO(encoded("PNG")), site=site, uploaded_by=applicator)
    pid = POOL.process_ids()[0]
    assert resource.prlimit(pid, resource.RLIMIT_AS)[0] == 1024 * MEBIBYTE
    assert resource.prlimit(pid, resource.RLIMIT_CORE) == (0, 0)
    assert 0 < resource.prlimit(pid, resource.RLIMIT_CPU)[0] < 3600


whole = cache(encoded)


@settings(
    max_examples=150,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(
    kind=st.sampled_from(["AVIF", "HEIF", "JPEG", "PNG", "WEBP"]),
    cut=st.integers(0, 2000),
    patch_at=st.integers(0, 600),
    patch=st.binary(max_size=12),
)
def test_fuzzed_files_never_break_the_intake(kind, cut, patch_at, patch, site, applicator):
    content = whole(kind)
    content = content[:patch_at] + patch + content[patch_at + len(patch) :]
    content = content[: max(0, len(content) - cut)]
    photo, sentence = outcome(content, site, applicator)
    if photo is None:
        assert sentence.startswith("“bad.jpg” ")
    else:
        assert photo.original.byte_size == len(content)
