"""Photo intake and near-duplicate search, against raw tools in the same run.

    python -m tests.bench.bench_photos [--photos 40] [--fingerprints 1000000] [--only intake|near]

Prints ratios; nothing here passes or fails. Baselines: Pillow's naive way (full decode, two
thumbnails), libvips (Debian's ``vipsthumbnail``, all files in one process), and decoding alone.
"""

import argparse
import hashlib
import os
import resource
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

FOLDER = Path(tempfile.mkdtemp(prefix="bench-photos-"))
os.environ.update(
    READINESS_DEMO="1",
    READINESS_DATA=str(FOLDER / "data"),
    DJANGO_SETTINGS_MODULE="portal.settings",
)

import django  # noqa: E402

django.setup()

import numpy as np  # noqa: E402
from django.core.management import call_command  # noqa: E402
from django.db import connection  # noqa: E402
from django.utils import timezone  # noqa: E402
from PIL import Image  # noqa: E402

from readiness.models import Builder, Site, User  # noqa: E402
from readiness.photos import fingerprint  # noqa: E402
from readiness.photos.decoder import POOL, DecoderPool, decode  # noqa: E402
from readiness.photos.intake import receive  # noqa: E402

WIDTH, HEIGHT = 4000, 3000


def make_photos(count: int) -> list[Path]:
    """Twelve-megapixel JPEGs of 3 to 5 MB: smooth light, courses of brick, and grain."""
    grain = np.random.default_rng(1).normal(0, 14, (HEIGHT, WIDTH, 1)).astype(np.float32)
    paths = []
    for number in range(count):
        random = np.random.default_rng(number)
        light = Image.fromarray(random.integers(60, 200, (5, 7, 3), dtype=np.uint8))
        wall = np.asarray(light.resize((WIDTH, HEIGHT), Image.Resampling.BICUBIC), np.float32)
        wall = wall + np.roll(grain, 37 * number, axis=1)
        wall[(np.arange(HEIGHT) % 150) < 17] += 40
        path = FOLDER / f"photo-{number:03d}.jpg"
        Image.fromarray(np.clip(wall, 0, 255).astype(np.uint8)).save(path, quality=88)
        paths.append(path)
    return paths


def timed(work) -> float:
    started = time.perf_counter()
    work()
    return time.perf_counter() - started


def decode_full(paths):
    for path in paths:
        with Image.open(path) as picture:
            picture.load()


def decode_half(paths):
    for path in paths:
        with Image.open(path) as picture:
            picture.draft(None, (1600, 1200))
            picture.load()


def naive(paths, *, from_file: bool):
    """Full decode and two thumbnails, hashed and with Exif read, as is commonly written."""
    for path in paths:
        hashlib.sha256(path.read_bytes()).hexdigest()
        with Image.open(path) as first:
            first.getexif()
            first.load()
            large = first.copy()
        large.thumbnail((1600, 1600))
        large.save(FOLDER / "large.jpg", quality=80)
        if from_file:
            with Image.open(path) as second:
                second.load()
                small = second.copy()
        else:
            small = large
        small.thumbnail((400, 400))
        small.save(FOLDER / "small.jpg", quality=75)


def libvips(paths):
    """Two sizes by libvips: 1600 px from each file, then 400 px from that."""
    out = FOLDER / "vips"
    out.mkdir(exist_ok=True)
    command = ["vipsthumbnail", *map(str, paths), "--size", "1600x1600"]
    subprocess.run([*command, "-o", f"{out}/%s-l.jpg[Q=80,strip]"], check=True)
    larges = [str(out / f"{path.stem}-l.jpg") for path in paths]
    command = ["vipsthumbnail", *larges, "--size", "400x400"]
    subprocess.run([*command, "-o", f"{out}/%s-s.jpg[Q=75,strip]"], check=True)


def ours_pixels(paths, pool):
    """Hash, metadata, both sizes, fingerprint; no database and no flush to disk."""
    for path in paths:
        hashlib.sha256(path.read_bytes()).hexdigest()
        decode(path, "JPEG", FOLDER / "l.jpg", FOLDER / "s.jpg", pool=pool)


def ours_whole(paths, site, user, threads: int):
    """The whole intake: stream, hash, decode, sizes, flush to disk, rows."""

    def one(path):
        try:
            with path.open("rb") as file:
                receive(file, site=site, uploaded_by=user, filename=path.name)
        finally:
            if threads > 1:
                connection.close()

    if threads == 1:
        for path in paths:
            one(path)
    else:
        with ThreadPoolExecutor(threads) as workers:
            list(workers.map(one, paths))


def memory_kib(pid, name: str) -> int:
    lines = Path(f"/proc/{pid}/status").read_text().splitlines()
    return next(int(line.split()[1]) for line in lines if line.startswith(f"{name}:"))


def forget_photos():
    with connection.cursor() as cursor:
        for table in ("photo", "fingerprintband", "original"):
            cursor.execute(f"DELETE FROM readiness_{table}")
    shutil.rmtree(FOLDER / "data" / "photos", ignore_errors=True)


def bench_intake(count: int) -> None:
    paths = make_photos(count)
    mean_mb = sum(p.stat().st_size for p in paths) / count / 1e6
    print(f"{count} photos of {WIDTH} x {HEIGHT}, {mean_mb:.1f} MB each")
    user = User.objects.create_user("a@applicator.example", role="applicator")
    site = Site.objects.create(
        builder=Builder.objects.create(name="Bench"),
        street="1 Bench Street",
        suburb="Bench",
        state="VIC",
        created_at=timezone.now(),
    )
    pool = DecoderPool(size=1)
    ours_pixels(paths[:1], pool)
    pid = pool.process_ids()[0]
    rows = {
        "decode alone, full": lambda: decode_full(paths),
        "decode alone, half scale": lambda: decode_half(paths),
        "naive Pillow, 400 px from the 1600 px": lambda: naive(paths, from_file=False),
        "naive Pillow, each from the file": lambda: naive(paths, from_file=True),
        "libvips (sizes only)": lambda: libvips(paths),
        "ours: hash, metadata, sizes, fingerprint": lambda: ours_pixels(paths, pool),
        "ours: whole intake with rows, one at a time": lambda: ours_whole(paths, site, user, 1),
        "ours: whole intake, two at a time": lambda: ours_whole(paths, site, user, 2),
    }
    times = {name: [] for name in rows}
    for _round in range(3):
        for name, work in rows.items():
            forget_photos()
            times[name].append(timed(work) / count * 1000)
    medians = {name: statistics.median(values) for name, values in times.items()}
    naive_ms = medians["naive Pillow, each from the file"]
    vips_ms = medians["libvips (sizes only)"]
    half_ms = medians["decode alone, half scale"]
    print(f"{'':46}{'ms':>7}{'naive/it':>10}{'vips/it':>9}{'it/decode':>11}")
    for name, ms in medians.items():
        print(f"{name:46}{ms:7.1f}{naive_ms / ms:10.2f}{vips_ms / ms:9.2f}{ms / half_ms:11.2f}")
    idle = DecoderPool(size=1)
    tiny = FOLDER / "tiny.jpg"
    Image.new("RGB", (64, 48), "tan").save(tiny)
    decode(tiny, "JPEG", FOLDER / "l.jpg", FOLDER / "s.jpg", pool=idle)
    idle_kib = memory_kib(idle.process_ids()[0], "VmRSS")
    peak_kib = memory_kib(pid, "VmHWM")
    print(f"decoder: idle {idle_kib / 1024:.0f} MB, peak {peak_kib / 1024:.0f} MB, ", end="")
    print(f"{(peak_kib - idle_kib) / 1024:.0f} MB above idle")
    own_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"this process at most {own_mb:.0f} MB (it ran the naive ways too)")
    pool.close()
    idle.close()
    POOL.close()


def bench_near(count: int) -> None:
    """Look-ups among random fingerprints, and the share of planted near ones that is found."""
    random = np.random.default_rng(5)
    values = random.integers(-(2**63), 2**63 - 1, count, dtype=np.int64).tolist()
    now = timezone.now().isoformat(sep=" ")
    with connection.cursor() as cursor:
        started = time.perf_counter()
        cursor.execute("BEGIN")
        for start in range(0, count, 50_000):
            part = list(enumerate(values[start : start + 50_000], start))
            cursor.executemany(
                "INSERT INTO readiness_original (digest, byte_size, media_type, width_px,"
                " height_px, orientation, frames, received_at, fingerprint, metadata,"
                " sizes_error) VALUES (%s, 1, 'image/jpeg', 1, 1, 1, 1, %s, %s, '{}', '')",
                [(f"{n:064x}", now, value) for n, value in part],
            )
            cursor.executemany(
                "INSERT INTO readiness_fingerprintband (key, fingerprint, original_id)"
                " VALUES (%s, %s, %s)",
                [
                    (key, value, f"{n:064x}")
                    for n, value in part
                    for key in fingerprint.band_keys(value)
                ],
            )
        cursor.execute("COMMIT")
        print(f"{count} fingerprints put in {time.perf_counter() - started:.0f} s")
    found, times = 0, []
    for trial in range(200):
        value, bits = values[int(random.integers(count))], 1 + trial % 7
        for bit in random.choice(64, bits, replace=False):
            value = fingerprint.to_signed((value ^ (1 << int(bit))) & (2**64 - 1))
        started = time.perf_counter()
        near = fingerprint.near(value)
        times.append(time.perf_counter() - started)
        found += any(b == bits for _digest, b in near)
    every = np.array(values, dtype=np.int64)
    started = time.perf_counter()
    np.bitwise_count(every ^ np.int64(values[0])).argsort(kind="stable")[:5]
    scan_ms = (time.perf_counter() - started) * 1000
    started = time.perf_counter()
    with connection.cursor() as cursor:
        cursor.execute("SELECT fingerprint FROM readiness_original")
        sum(1 for (value,) in cursor if fingerprint.distance(value, values[0]) <= 7)
    table_scan_ms = (time.perf_counter() - started) * 1000
    median = statistics.median(times) * 1000
    worst = max(times) * 1000
    print(f"near-duplicate look-up: median {median:.1f} ms, worst {worst:.1f} ms; ", end="")
    print(f"{found} of 200 planted found")
    print(f"scan of the table {table_scan_ms:.0f} ms ({table_scan_ms / median:.0f} x as long), ")
    print(f"scan of an array held in memory {scan_ms:.0f} ms")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--photos", type=int, default=40)
    parser.add_argument("--fingerprints", type=int, default=1_000_000)
    parser.add_argument("--only", choices=["intake", "near"])
    options = parser.parse_args()
    call_command("migrate", verbosity=0)
    try:
        if options.only != "near":
            bench_intake(options.photos)
        if options.only != "intake":
            bench_near(options.fingerprints)
    finally:
        shutil.rmtree(FOLDER, ignore_errors=True)


if __name__ == "__main__":
    sys.exit(main())
