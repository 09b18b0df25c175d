"""Decoding is bounded for the machine: over all processes, and what waits too long is refused."""

import io
import json
import os
import signal
import subprocess
import sys
import threading
import time
import uuid
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from readiness.models import Photo
from readiness.photos import decoder, slots
from readiness.photos.decoder import DecoderPool, DecodingError, decode
from readiness.photos.intake import receive
from readiness.photos.limits import Limits
from readiness.photos.refused import PhotoRefused

from .conftest import files_in
from .heif_files import many_tiles
from .pictures import encoded, jpeg

PROJECT = Path(__file__).resolve().parents[2]
MEBIBYTE = 1024 * 1024

# Another process of the installation: takes a slot of the folder, says so, and keeps it.
HOLDER = """
import sys
from django.conf import settings
settings.configure(READINESS_DATA=sys.argv[1], READINESS_DECODERS=1)
from readiness.photos.slots import slot
with slot(5):
    print("held", flush=True)
    sys.stdin.read()
"""


@pytest.fixture
def one_slot(settings, tmp_path):
    settings.READINESS_DECODERS = 1
    return tmp_path


@pytest.fixture
def held(one_slot):
    """The only slot, held by another process."""
    command = [sys.executable, "-c", HOLDER, str(one_slot)]
    holder = subprocess.Popen(
        command, cwd=PROJECT, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    )
    assert holder.stdout.readline() == "held\n"
    yield holder
    holder.kill()
    holder.wait()


@pytest.mark.parametrize(
    ("cores", "memory_mb", "expected"),
    [(2, 24_000, 2), (8, 1_900, 3), (4, 500, 1), (1, 64_000, 1), (16, 16_000, 16)],
)
def test_one_slot_a_core_as_far_as_memory_lasts(cores, memory_mb, expected):
    assert slots.slots_for(cores, memory_mb * MEBIBYTE) == expected


def test_this_machine_has_a_slot(settings):
    settings.READINESS_DECODERS = 0
    assert 1 <= slots.slot_count() <= (os.cpu_count() or 1)
    settings.READINESS_DECODERS = 7
    assert slots.slot_count() == 7


def test_a_slot_of_another_process_is_waited_for_and_no_longer(held):
    started = time.monotonic()
    with pytest.raises(slots.NoSlotError), slots.slot(0.3):
        pass
    assert time.monotonic() - started >= 0.3


@pytest.mark.parametrize("how", ["let go", "killed"])
def test_a_slot_comes_free_however_its_holder_ends(held, how):
    let_go = held.stdin.close if how == "let go" else held.kill
    threading.Timer(0.3, let_go).start()
    with slots.slot(30) as number:
        assert number == 0


def test_a_decoding_that_gets_no_turn_says_that_it_is_busy(held, tmp_path):
    path = tmp_path / "a.jpg"
    path.write_bytes(jpeg())
    pool = DecoderPool(size=1)
    with pytest.raises(DecodingError) as error:
        decode(path, "JPEG", tmp_path / "l", tmp_path / "s", pool=pool, wait=0.2)
    assert error.value.problem == "busy"
    held.kill()
    assert decode(path, "JPEG", tmp_path / "l", tmp_path / "s", pool=pool)["width_px"] == 320
    pool.close()


def test_a_pool_starts_no_more_decoders_than_it_was_given(tmp_path):
    path = tmp_path / "a.jpg"
    path.write_bytes(jpeg())
    pool = DecoderPool(size=1)

    def read(number):
        return decode(path, "JPEG", tmp_path / f"l{number}", tmp_path / f"s{number}", pool=pool)

    with ThreadPoolExecutor(4) as threads:
        assert {one["width_px"] for one in threads.map(read, range(8))} == {320}
    assert len(pool.process_ids()) == 1
    pool.close()


@pytest.mark.django_db
def test_a_photo_that_waited_too_long_is_sent_again_and_lost_nowhere(
    held, site, applicator, client_for, photo_folder, monkeypatch
):
    monkeypatch.setattr(decoder, "WAIT_SECONDS", 0.1)
    with pytest.raises(PhotoRefused) as refused:
        receive(io.BytesIO(jpeg()), site=site, uploaded_by=applicator, filename="wall.jpg")
    assert refused.value.message == (
        "“wall.jpg” has to wait: other photos are being read. Send it again in a minute."
    )
    assert files_in(photo_folder) == []
    client, photo_id = client_for(applicator), str(uuid.uuid4())

    def send():
        body = {"id": photo_id, "photo": SimpleUploadedFile("wall.jpg", jpeg())}
        return client.post(reverse("photos:upload", args=[site.pk]), body)

    answer = send()
    assert answer.status_code == 503
    assert int(answer["Retry-After"]) > 0
    assert answer.json()["error"] == refused.value.message
    assert not Photo.objects.exists()
    held.kill()
    held.wait()
    assert send().status_code == 200
    assert str(Photo.objects.get().pk) == photo_id


# A server that hands one endless picture to a decoder and says which process that is.
SERVER = """
import sys, threading, time
from django.conf import settings
settings.configure(READINESS_DATA=sys.argv[1], READINESS_DECODERS=1)
from readiness.photos import decoder
from readiness.photos.limits import Limits
pool = decoder.DecoderPool(Limits(seconds=60), size=1)
start = decoder._Worker.__init__
def shown(self, limits):
    start(self, limits)
    print(self.process.pid, flush=True)
decoder._Worker.__init__ = shown
path, folder = sys.argv[2], sys.argv[1]
decoder.decode(path, "PNG", folder + "/l", folder + "/s", blurs=[[0, 0, 1, 1]] * 100000, pool=pool)
"""


def test_a_decoder_stops_when_its_server_is_killed(tmp_path):
    path = tmp_path / "a.png"
    path.write_bytes(encoded("PNG"))
    command = [sys.executable, "-c", SERVER, str(tmp_path), str(path)]
    server = subprocess.Popen(command, cwd=PROJECT, stdout=subprocess.PIPE, text=True)
    pid = int(server.stdout.readline())
    time.sleep(1)
    os.kill(pid, 0)
    server.send_signal(signal.SIGKILL)
    server.wait()
    until = time.monotonic() + 60
    while runs(pid):
        assert time.monotonic() < until, "the decoder goes on for nobody"
        time.sleep(0.05)


def runs(pid: int) -> bool:
    """Whether the process is there and not over (proc(5): Z is a zombie, X is dead)."""
    try:
        state = Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()[0]
    except (FileNotFoundError, ProcessLookupError):  # it went while it was looked at
        return False
    return state not in "ZX"


def test_a_full_disk_while_sizes_are_written_is_not_blamed_on_the_photo(tmp_path):
    """/dev/full refuses every write as a full disk does (full(4))."""
    path = tmp_path / "a.jpg"
    path.write_bytes(jpeg())
    pool = DecoderPool(Limits(), size=1)
    with pytest.raises(DecodingError) as error:
        decode(path, "JPEG", "/dev/full", tmp_path / "s", pool=pool)
    assert error.value.problem == "disk_full"
    pool.close()


# One of the installation's processes with several threads, as the web server is.
MANY = """
import json, sys
from concurrent.futures import ThreadPoolExecutor
from django.conf import settings
settings.configure(READINESS_DATA=sys.argv[1], READINESS_DECODERS=2)
from readiness.photos.decoder import POOL, decode
def one(number):
    out = f"{sys.argv[1]}/{sys.argv[3]}-{number}"
    return decode(sys.argv[2], "HEIF", out + "l", out + "s", wait=300)["width_px"]
with ThreadPoolExecutor(3) as threads:
    print(json.dumps(list(threads.map(one, range(3)))), flush=True)
sys.stdin.read()
"""


def children(pid: int) -> list[int]:
    return [
        int(child)
        for task in Path(f"/proc/{pid}/task").iterdir()
        for child in (task / "children").read_text().split()
    ]


def resident_kib(pid: int) -> int:
    try:
        lines = Path(f"/proc/{pid}/status").read_text().splitlines()
    except OSError:
        return 0
    return next((int(line.split()[1]) for line in lines if line.startswith("VmRSS:")), 0)


@pytest.mark.long
def test_twelve_large_heics_at_once_stay_within_one_and_a_half_gigabytes(tmp_path):
    """Four processes, three threads each, 50 megapixels a picture; two decode at a time."""
    path = tmp_path / "large.heic"
    path.write_bytes(many_tiles(16, 12, 512))
    servers = [
        subprocess.Popen(
            [sys.executable, "-c", MANY, str(tmp_path), str(path), str(number)],
            cwd=PROJECT,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )
        for number in range(4)
    ]
    peak_kib, done = 0, threading.Event()

    def watch():
        nonlocal peak_kib
        while not done.is_set():
            decoders = [child for server in servers for child in children(server.pid)]
            peak_kib = max(peak_kib, sum(map(resident_kib, decoders)))
            time.sleep(0.02)

    watcher = threading.Thread(target=watch)
    watcher.start()
    try:
        made = [json.loads(server.stdout.readline()) for server in servers]
    finally:
        done.set()
        watcher.join()
        for server in servers:
            server.kill()
            server.wait()
    assert made == [[16 * 512] * 3] * 4
    print(f"at most {peak_kib / 1024:.0f} MB in all decoders")
    assert 300 < peak_kib / 1024 < 1500
