"""How fast the papers are made, as ratios against raw tools in the same run.

Run from the top folder: `python -m tests.bench.bench_papers [--quick]`. Prints a table and judges
nothing: goals stand beside the ratios. reportlab is needed for one baseline only; without it that
line is skipped. Chromium is found as `chromium`.

One goal is out of reach: the photo record within 4.5 times of hand-placed reportlab. Bare
WeasyPrint with nothing but a heading over each photo (no facts, tags, archive profile, running
heads or data) took 3.8 to 8 times as long as reportlab with all the words, in six runs; with the
same words and nothing else, 8 to 12 times. Each line of text costs its layout engine about a
millisecond, and reportlab a tenth of that.
"""

import argparse
import io
import os
import resource
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from html import escape
from pathlib import Path

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings")

import django

django.setup()

from django.core.management import call_command  # noqa: E402

from readiness.models import Paper  # noqa: E402
from readiness.papers import pdf, photo_record  # noqa: E402
from readiness.papers.render import render_paper  # noqa: E402
from tests.papers import reports  # noqa: E402

CSS = """@page { size: A4; margin: 18mm }
body { margin: 0; font: 9pt Inter, sans-serif } p { margin: 0 }
.b { height: 125mm } .b img { display: block; width: 122mm; height: 91.5mm }
.t { font-weight: bold; height: 6mm } .f { height: 4mm }"""


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--quick", action="store_true", help="fewer rounds, no 400 and 500 photos")
    parser.add_argument("--memory-of", type=int, help=argparse.SUPPRESS)
    options = parser.parse_args()
    call_command("migrate", verbosity=0)
    call_command("createcachetable", verbosity=0)
    if options.memory_of:
        print(peak_of(options.memory_of))
        return
    rounds = 3 if options.quick else 7
    folder = Path(tempfile.mkdtemp(prefix="bench-papers-"))
    try:
        run(folder, rounds, options.quick)
    finally:
        shutil.rmtree(folder)


def run(folder: Path, rounds: int, quick: bool) -> None:
    paths = photo_files(folder, 40)
    report = issued(paths, 40)
    record = report.papers.get(kind=Paper.Kind.PHOTO_RECORD)
    whole = report.papers.get(kind=Paper.Kind.SITE_REPORT)
    words = words_of(record)
    timed = interleaved(
        {
            "ours": lambda: render_paper(record),
            "bare": lambda: bare_weasyprint(paths, words),
            "photos": lambda: bare_weasyprint(paths, [leaf[:1] for leaf in words]),
            "reportlab": lambda: hand_placed(paths, words),
            "report": lambda: render_paper(whole),
        },
        rounds,
    )
    ours = timed["ours"]
    seconds = statistics.median(ours)
    say("Photo record, 40 photos, tagged, PDF/A", f"{seconds:.3f} s", "")
    say("  against bare WeasyPrint, plain blocks", ratio(ours, timed["bare"]), "at most 1.3")
    if timed["reportlab"]:
        say("  against hand-placed reportlab", ratio(ours, timed["reportlab"]), "at most 4.5")
        floor = ratio(timed["photos"], timed["reportlab"])
        say("  bare WeasyPrint, photos alone, against it", floor, "the floor of the line above")
    else:
        say("  against hand-placed reportlab", "skipped", "reportlab is not installed")
    chromium = chromium_print(record, folder)
    said = f"{chromium / seconds:.1f} times slower" if chromium else "skipped: no chromium"
    say("  headless Chromium, same HTML", said, "several times")
    say("Site report, 40 items, against its record", ratio(timed["report"], ours), "at most 2.5")
    sizes(render_paper(record).content, paths)
    if not quick:
        growth(folder, record)
        memory()


def photo_files(folder: Path, count: int) -> list[Path]:
    """Photos of 1600 x 1200: a few drawings, each file its own."""
    from readiness.demo.album import FOLDER, Shot, photo_file

    names = sorted(path.stem for path in FOLDER.glob("*.webp"))
    made = [photo_file(Shot(name, "usual")) for name in names[:6]]
    paths = []
    for number in range(count):
        jpeg = made[number % len(made)]
        mark = f"photo {number}".encode()
        comment = b"\xff\xfe" + (len(mark) + 2).to_bytes(2, "big") + mark
        paths.append(folder / f"{number:04}.jpg")
        paths[-1].write_bytes(jpeg[:2] + comment + jpeg[2:])
    return paths


def issued(paths: list[Path], items: int):
    return reports.issue(walls=8, items=items, jpegs=[path.read_bytes() for path in paths])


def interleaved(calls: dict, rounds: int) -> dict:
    """Seconds of each call in each round, after one round to warm up; None if a call can't be made.

    Seconds of processor time: others may be at work on the machine, and nothing here waits.
    Rounds go round all calls, so that a ratio compares neighbours however the machine drifts.
    """
    times = {name: [] for name in calls}
    for number in range(rounds + 1):
        for name, call in calls.items():
            started = time.process_time()
            done = call()
            if number and done is not None:
                times[name].append(time.process_time() - started)
    return {name: found or None for name, found in times.items()}


def words_of(record: Paper) -> list[list[str]]:
    """The record's own words for each photo: its heading, then the lines under it."""
    leaves = photo_record.draft(record).context["leaves"]
    return [[f"{leaf.badge} {leaf.heading}", *leaf.lines] for leaf in leaves]


def bare_weasyprint(paths: list[Path], words: list[list[str]]) -> bytes:
    """The raw tool: the same photos and words, two photos a page, in plain blocks."""
    from weasyprint import HTML

    blocks = "".join(
        f"<div class=b><p class=t>{escape(heading)}</p><img src='{path.as_uri()}' alt=''>"
        + "".join(f"<p class=f>{escape(line)}</p>" for line in lines)
        + "</div>"
        for path, (heading, *lines) in zip(paths, words, strict=True)
    )
    return HTML(string=f"<style>{CSS}</style><body>{blocks}").write_pdf()


def hand_placed(paths: list[Path], words: list[list[str]]) -> bytes | None:
    try:
        from reportlab import rl_config
        from reportlab.lib.units import mm
        from reportlab.pdfgen.canvas import Canvas
    except ImportError:
        return None
    rl_config.useA85 = 0
    out = io.BytesIO()
    canvas = Canvas(out, pagesize=(210 * mm, 297 * mm))
    canvas.setFont("Helvetica", 9)
    for number, (path, (heading, *lines)) in enumerate(zip(paths, words, strict=True)):
        top = (279 if number % 2 == 0 else 150) * mm
        canvas.drawString(18 * mm, top, heading)
        canvas.drawImage(str(path), 18 * mm, top - 95 * mm, 122 * mm, 91.5 * mm)
        for row, line in enumerate(lines, 1):
            canvas.drawString(18 * mm, top - (95 + 4 * row) * mm, line)
        if number % 2:
            canvas.showPage()
            canvas.setFont("Helvetica", 9)
    canvas.save()
    return out.getvalue()


def chromium_print(paper: Paper, folder: Path) -> float | None:
    """Seconds that Chromium takes to print the very markup of the record."""
    program = shutil.which("chromium")
    if program is None:
        return None
    draft = photo_record.draft(paper)
    from readiness.photos import store

    html = pdf.markup(draft)
    for photo_id, name in draft.album.names().items():
        html = html.replace(f"photo:{photo_id}", store.local_path(name).as_uri())
    style = (pdf.FOLDER / "paper.css").read_text()
    page = folder / "record.html"
    page.write_text(html.replace("</head>", f"<style>{style}</style></head>"))
    started = time.perf_counter()
    subprocess.run(
        [
            program, "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic",
            "--no-first-run", "--disable-background-networking", "--disable-component-update",
            "--disable-sync", f"--user-data-dir={folder / 'chromium'}", "--no-pdf-header-footer",
            f"--print-to-pdf={folder / 'chromium.pdf'}", page.as_uri(),
        ],
        check=True,
        capture_output=True,
    )  # fmt: skip
    return time.perf_counter() - started


def sizes(content: bytes, paths: list[Path]) -> None:
    photos = sum(path.stat().st_size for path in paths)
    over = len(content) - photos
    said = f"{len(content) / photos:.3f} of the photos, {over / 1000:.0f} kB over"
    say("File size", said, "at most 1.05 times + 300 kB")
    with tempfile.NamedTemporaryFile(suffix=".pdf") as file:
        file.write(content)
        file.flush()
        listed = subprocess.run(
            ["pdfimages", "-list", file.name], capture_output=True, check=True, text=True
        ).stdout
    rows = [line.split() for line in listed.splitlines()[2:]]
    as_is = sum(row[8] == "jpeg" and row[3:5] == ["1600", "1200"] for row in rows)
    say("Photos in it as they were stored", f"{as_is} of {len(paths)}", "all")


def growth(folder: Path, forty: Paper) -> None:
    paths = photo_files(folder, 400)
    report = issued(paths, 400)
    paper = report.papers.get(kind=Paper.Kind.PHOTO_RECORD)
    timed = interleaved({"400": lambda: render_paper(paper), "40": lambda: render_paper(forty)}, 5)
    a_photo = ratio([time / 10 for time in timed["400"]], timed["40"])
    said = f"{statistics.median(timed['400']):.2f} s, {a_photo} a photo"
    say("Photo record, 400 photos, against 40", said, "at most 1.2 a photo")


def memory() -> None:
    """Peak of a process of its own that makes the record of 500 photos."""
    made = subprocess.run(
        [sys.executable, "-m", "tests.bench.bench_papers", "--memory-of", "500"],
        capture_output=True,
        check=True,
        text=True,
    )
    say("Memory, 500 photos", f"{made.stdout.split()[-1]} MB", "at most 600 MB")


def peak_of(photos: int) -> int:
    """MB at most in use while a record of so many photos is made.

    The photos are drawn and the report is set up by another process: a worker does neither.
    """
    folder = Path(tempfile.mkdtemp(prefix="bench-papers-"))
    child = os.fork()
    if child == 0:
        issued(photo_files(folder, photos), photos)
        os._exit(0)
    os.waitpid(child, 0)
    paths = sorted(folder.glob("*.jpg"))
    Path("/proc/self/clear_refs").write_text("5")
    content = render_paper(Paper.objects.get(kind=Paper.Kind.PHOTO_RECORD)).content
    assert len(content) > sum(path.stat().st_size for path in paths)
    shutil.rmtree(folder)
    peak = next(
        int(line.split()[1])
        for line in Path("/proc/self/status").read_text().splitlines()
        if line.startswith("VmHWM")
    )
    return round(peak / 1000) or resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1000


def ratio(ours: list[float], theirs: list[float]) -> str:
    """The median of the ratios of each round."""
    found = statistics.median(one / other for one, other in zip(ours, theirs, strict=True))
    return f"{found:.2f} times"


def say(what: str, found: str, goal: str) -> None:
    print(f"{what:<46}{found:>34}   {goal}")


if __name__ == "__main__":
    main()
