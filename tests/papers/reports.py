"""Issued reports with photos for the papers' tests, made through the actions as people would."""

import hashlib
import io
import subprocess
import uuid
from datetime import UTC, date, datetime, timedelta
from functools import cache

import pikepdf
from PIL import Image, ImageDraw

from readiness.actions.fixing import fixes
from readiness.actions.papers import asking
from readiness.actions.reporting import drafts, issuing
from readiness.actions.sites import sites
from readiness.models import Booking, Business, Original, Photo
from readiness.papers.pictures import Frame
from readiness.papers.render import render_paper
from readiness.photos import sizes, store
from tests.factories import confirm, make_applicator, make_builder, make_contact

VISIT = date(2026, 11, 23)
FRAME = Frame(84, 63)
LARGE, SMALL = (1600, 1200), (400, 300)

SLOPING = {
    "first_bed_joint_mm": -257,
    "gauge": {"courses": 7, "height_mm": 600},
    "ground_today": [
        {"distance_mm": 0, "level_mm": -260},
        {"distance_mm": 5000, "level_mm": -190},
        {"distance_mm": 12000, "level_mm": -320},
    ],
    "weep_holes": [{"level_mm": -86, "spacing_mm": 960}],
    "joints": [{"distance_mm": 5900, "width_mm": 12, "depth_mm": 110}],
}

THINGS = (
    ("unfilled_joint", {"measured_value": 38}),
    ("soil_against_brick", {"measured_value": 140}),
    ("mortar_drop", {}),
    ("gap_too_wide", {"measured_value": 38}),
    ("articulation_unsealed", {"measured_value": 12}),
    ("weep_hole_blocked", {}),
    ("dirty_brick", {}),
    ("ground_too_high", {"measured_value": 40}),
    ("tap_splashes", {"effect": "applicator"}),
    ("tight_crack", {"measured_value": 3, "effect": "record"}),
)


@cache
def plain_jpeg(number: int, size: tuple[int, int]) -> bytes:
    """A small file that shows its own number: no two alike."""
    picture = Image.new("RGB", size, (168, 96, 74))
    draw = ImageDraw.Draw(picture)
    for top in range(0, size[1], size[1] // 12):
        draw.line((0, top, size[0], top), fill=(200, 195, 188), width=size[1] // 80)
    draw.text((size[0] // 3, size[1] // 3), str(number), fill="white", font_size=size[1] // 4)
    out = io.BytesIO()
    picture.save(out, "JPEG", quality=80)
    return out.getvalue()


def put_photo(site, *, number: int = 1, jpeg: bytes | None = None, size=LARGE, **fields) -> Photo:
    """A photo of a site whose two sizes lie in the store; `jpeg` is the large one."""
    large = jpeg or plain_jpeg(number, size)
    digest = hashlib.sha256(large + str(number).encode()).hexdigest()
    picture_size = Image.open(io.BytesIO(large)).size if jpeg else size
    original, _ = Original.objects.get_or_create(
        digest=digest,
        defaults={
            "byte_size": len(large),
            "media_type": "image/jpeg",
            "width_px": picture_size[0] * 2,
            "height_px": picture_size[1] * 2,
            "sizes_made_at": datetime(2026, 11, 23, 1, 0, tzinfo=UTC),
        },
    )
    with store.workspace() as folder:
        for name, content in (("large", large), ("small", plain_jpeg(number, SMALL))):
            (folder / name).write_bytes(content)
            store.put(folder / name, sizes.size_name(digest, name))
    taken = datetime(2026, 11, 23, 0, 10, tzinfo=UTC) + timedelta(minutes=number)
    told = {
        "filename": f"IMG_{number:04}.jpg",
        "received_at": taken + timedelta(seconds=95),
        "taken_at": taken,
        "taken_at_local": f"{taken + timedelta(hours=10):%Y-%m-%d %H:%M:%S}",
        "taken_offset": "+10:00",
    }
    return Photo.objects.create(
        pk=uuid.uuid5(uuid.NAMESPACE_OID, f"{site.pk}/{number}"),
        site=site,
        original=original,
        **(told | fields),
    )


LETTERHEAD = {
    "name": "Gumnut Barrier Services",
    "licence_number": "PM-00417",
    "address": "Unit 4, 18 Wharfline Road\nTallow Creek QLD 4999",
    "phone": "07 5550 0143",
    "email": "office@gumnut.example",
    "letterhead_note": "Termite-management treatments for new brick houses",
    "product_name": "Demo termite treatment",
}


def set_business(**fields) -> Business:
    business = Business.current()
    for name, value in (LETTERHEAD | fields).items():
        setattr(business, name, value)
    business.save()
    return business


def make_site(actor, walls=4, *, levels=True, **fields):
    told = {
        "street": "12 Wattlebird Way",
        "suburb": "Tallow Creek",
        "state": "QLD",
        "postcode": "4999",
        "job_number": "WB-1207",
        "house_type": "Banksia 24",
    }
    builder = fields.pop("builder", None) or make_builder()
    site = sites.add_site(actor, builder, **(told | fields))
    names = ("North", "East", "South", "West")
    entries = [
        sites.RunEntry(
            f"{names[n % 4]} wall" + (f" {n // 4 + 1}" if walls > 4 else ""),
            12000 if n % 2 == 0 else 8400,
            "render" if n == 3 else "face_brick",
            *_turn(n, walls),
        )
        for n in range(walls)
    ]
    runs = sites.set_wall_runs(actor, site, entries)
    if levels:
        for run in runs:
            measured = dict(SLOPING)
            if run.finish == "render":
                measured = {"struck_joint_mm": -180, "ground_today": SLOPING["ground_today"]}
            if run.length_mm == 8400:
                measured["ground_today"] = [{"distance_mm": 0, "level_mm": -300}]
            sites.set_levels(actor, run, measured)
    return site


def _turn(number: int, walls: int) -> tuple[int]:
    """A plain rectangle for four walls; a saw-tooth outline for more, that closes."""
    return (90,) if walls <= 4 or number % (walls // 4) == walls // 4 - 1 else (0,)


def issue(
    *,
    walls=4,
    items=8,
    photos_per_item=1,
    jpegs=None,
    levels=True,
    actor=None,
    site=None,
    business=None,
    report_fields=None,
    things=THINGS,
    **site_fields,
):
    """An issued report. `jpegs` are the photos' large sizes, used in turn; else plain ones."""
    set_business(**(business or {}))
    actor = actor or make_applicator(licence_number="T-2208")
    site = site or make_site(actor, walls, levels=levels, **site_fields)
    report = drafts.start_report(
        actor,
        site,
        visited_on=VISIT,
        treatment_wanted_on=date(2026, 12, 10),
        **({"weather": "Fine, light wind"} | (report_fields or {})),
    )
    runs = list(sites.current_runs(site))
    for run in runs:
        drafts.check_run(actor, report, run)
    number = 0
    for index in range(items):
        kind, fields = things[index % len(things)]
        run = runs[index % len(runs)]
        start = 600 + (index * 1370) % (run.length_mm - 2000)
        shown = []
        for _ in range(photos_per_item):
            number += 1
            jpeg = jpegs[(number - 1) % len(jpegs)] if jpegs else None
            shown.append(put_photo(site, number=number, jpeg=jpeg))
        drafts.add_item(
            actor,
            report,
            kind=kind,
            wall_run=run,
            item_id=uuid.uuid5(uuid.NAMESPACE_OID, f"{site.pk}/item/{index}"),
            photos=shown,
            **({"from_mm": start, "to_mm": start + 900} | fields),
        )
    return issuing.issue_report(actor, report)


def text_of(content: bytes, *options: str) -> str:
    """What poppler's pdftotext reads in a PDF."""
    made = subprocess.run(
        ["pdftotext", "-enc", "UTF-8", *options, "-", "-"],
        input=content,
        capture_output=True,
        check=True,
    )
    return made.stdout.decode()


def make(report, kind: str, trade: str = "") -> bytes:
    """The bytes of one of a report's papers."""
    return render_paper(report.papers.get(kind=kind, trade=trade, edition=1)).content


def story(**options):
    """A report whose every holding item was fixed with a photo, accepted, and then confirmed.

    Returns the report, its confirmation and the builder's contact.
    """
    applicator = make_applicator(name="Alex Applicator", licence_number="T-2208")
    builder = make_builder("Wattle Homes")
    supervisor = make_contact(builder, name="Sam Supervisor")
    site = make_site(applicator, 2, builder=builder)
    report = issue(actor=applicator, site=site, **({"items": 4} | options))
    for index, item in enumerate(report.items.filter(effect="holds")):
        photo = put_photo(site, number=500 + index)
        fixes.report_fixed(supervisor, item, photos=[photo], note="Done.")
        fixes.accept_fix(applicator, item)
    confirmation = confirm(supervisor, report)
    return report, confirmation, supervisor


def treat(report, confirmation):
    """The site's booking, treated, with its paper asked for."""
    booking = Booking.objects.create(
        site=report.site,
        state="treated",
        asked_at=confirmation.confirmed_at,
        day=date(2026, 12, 10),
        half="morning",
        confirmed_at=confirmation.confirmed_at,
        confirmation=confirmation,
        closed_at=datetime(2026, 12, 10, 1, 5, tzinfo=UTC),
        treated_by=report.issued_by,
        used_ml=4700,
        batch_number="B-7714",
        weather="Fine",
    )
    return asking.queue_treatment_paper(booking)


def alternatives_of(content: bytes) -> list[str]:
    """The text alternatives of all figures in a PDF."""
    with pikepdf.open(io.BytesIO(content)) as pdf:
        return [
            str(element.Alt)
            for element in pdf.objects
            if isinstance(element, pikepdf.Dictionary)
            and element.get("/S") == "/Figure"
            and "/Alt" in element
        ]
