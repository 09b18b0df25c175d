"""A made-up site to show the papers on, while a business edits its letterhead and wording."""

import uuid
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta

from readiness.facts import rule_values
from readiness.models import Booking, Business, Paper, ReadinessConfirmation, User
from readiness.papers import (
    annex,
    confirmation,
    fix_list,
    guide,
    photo_record,
    site_report,
    treatment,
    wording,
)
from readiness.papers.history import FixStory
from readiness.papers.pdf import Draft
from readiness.papers.pictures import Album, Frame, Picture
from readiness.papers.views import Snapshot
from readiness.rules.band import stored_levels
from readiness.rules.defects.catalogue import get_kind
from readiness.rules.vocabulary import Effect, Half, ItemState
from readiness.snapshots import VERSION, kept_words, letterhead_of
from readiness.wording.paper import fixes, parts

Kind = Paper.Kind
ISSUED = datetime(2026, 3, 2, 4, 20, tzinfo=UTC)
TREATED = date(2026, 3, 19)
LINK = "https://portal.example/shared/sample"
_WALLS = (("Front wall", 9600), ("Side wall", 14400), ("Back wall", 9600), ("Garage wall", 14400))
_THINGS = (
    ("unfilled_joint", 0, 2400, 3100, 38, Effect.HOLDS, 5),
    ("soil_against_brick", 1, 4800, 8000, 140, Effect.HOLDS, 6),
    ("mortar_drop", 2, 1200, 1500, None, Effect.HOLDS, 6),
    ("tap_splashes", 1, 900, 1600, None, Effect.ON_THE_DAY, 9),
    ("tight_crack", 3, 6100, 6100, 3, Effect.RECORD, None),
)


class NoPhotos(Album):
    """Stands in for photos: each place says that a photo goes there."""

    def place(self, entry: dict, frame: Frame, alt: str) -> Picture:
        width_mm, height_mm = frame.fit(entry["width_px"], entry["height_px"])
        return Picture("", alt, width_mm, height_mm, why=parts.no_photo("sample"))


def sample(kind: str, business: Business) -> Draft:
    """A sample of a kind of paper with this business's settings, saved or not."""
    return _SAMPLES[kind](business)


def _snapshot(business: Business) -> Snapshot:
    values = rule_values(business)
    person = {"id": "sample", "name": "A. Technician", "licence_number": business.licence_number}
    content = {
        "version": VERSION,
        "number": 1,
        "issued_at": ISSUED.isoformat(),
        "visited_on": "2026-03-02",
        "treatment_wanted_on": "2026-03-12",
        "treated_on": None,
        "weather": "Fine, light wind",
        "notes": parts.sample_note(),
        "prepared_by": person,
        "issued_by": person,
        "supersedes": None,
        "business": letterhead_of(business),
        "site": {
            "id": "sample",
            "street": "Lot 7, 12 Sample Street",
            "suburb": "Sampleton",
            "state": "QLD",
            "postcode": "0000",
            "job_number": "JOB-123",
            "house_type": "Sample house",
            "datum": "top of the slab",
            "builder": "Sample Builder",
            "rained_at": None,
        },
        "runs": [_run(number, *wall) for number, wall in enumerate(_WALLS)],
        "checks": [
            {
                "run": f"run-{number}",
                "checked_at": (ISSUED - timedelta(minutes=60 - 9 * number)).isoformat(),
                "checked_by": person,
                "note": "",
                "photos": [],
            }
            for number in range(len(_WALLS))
        ],
        "items": [_item(number, values, *thing) for number, thing in enumerate(_THINGS, 1)],
        "referrals": [],
        "rule_values": values.as_dict(),
        "fixes_needed": business.fixes_needed,
        **kept_words((slug for slug, *_ in _THINGS), values),
    }
    return Snapshot(content, "0" * 64, album=NoPhotos())


def _run(number: int, label: str, length_mm: int) -> dict:
    ground = [(0, -430), (length_mm // 2, -390 if number == 1 else -420), (length_mm, -410)]
    return {
        "id": f"run-{number}",
        "label": label,
        "length_mm": length_mm,
        "finish": "face_brick",
        "turn_degrees": 90,
        "levels": {
            "version": stored_levels.VERSION,
            "gauge": {"courses": 7, "height_mm": 600, "measured": True},
            "bed_joint_mm": -343,
            "ground_today": [{"distance_mm": at, "level_mm": level} for at, level in ground],
            "finishes_to_come": [
                {"from_mm": 0, "to_mm": length_mm, "thickness_mm": 110, "surface": "lawn"}
            ],
            "weep_holes": [{"level_mm": -86, "spacing_mm": 960}],
        },
    }


def _item(number, values, slug, run, from_mm, to_mm, measured, effect, due_in) -> dict:
    kind = get_kind(slug)
    taken = ISSUED - timedelta(minutes=58 - 9 * number)
    return {
        "id": f"item-{number}",
        "number": number,
        "run": f"run-{run}",
        "kind": slug,
        "from_mm": from_mm,
        "to_mm": to_mm,
        "measured_value": measured,
        "measured_from": "tape" if measured else "",
        "measured_uncertainty": None,
        "note": "",
        "required_fix": kind.required_fix(values, measured=measured, from_mm=from_mm, to_mm=to_mm),
        "trade": kind.trade,
        "effect": effect,
        "state": "" if effect == Effect.RECORD else ItemState.TO_FIX,
        "due_on": (ISSUED + timedelta(days=due_in)).date().isoformat() if due_in else None,
        "cleaned_wet_at": None,
        "carried_from": None,
        "photos": [
            {
                "id": f"photo-{number}",
                "sha256": f"{number:x}" * 64,
                "width_px": 1600,
                "height_px": 1200,
                "filename": f"IMG_000{number}.jpg",
                "caption": "",
                "received_at": (taken + timedelta(seconds=40)).isoformat(),
                "taken_at": taken.isoformat(),
                "taken_at_local": "",
                "taken_offset": "+10:00",
                "markup": [],
                "measurements": [],
            }
        ],
    }


def _confirmation(business: Business) -> ReadinessConfirmation:
    signed = ISSUED + timedelta(days=12, hours=3)
    return ReadinessConfirmation(
        pk=uuid.UUID(int=1),
        statement=business.confirmation_statement,
        name="S. Supervisor",
        position="Site supervisor",
        signature="",
        version=ReadinessConfirmation.VERSION,
        account_address="supervisor@builder.example",
        proved_by=ReadinessConfirmation.Method.CODE,
        proved_at=signed - timedelta(minutes=2),
        device="Chrome",
        ticks={f"run-{number}": ["clean", "dry", "clear"] for number in range(len(_WALLS))},
        confirmed_at=signed,
        valid_until=signed + timedelta(days=int(rule_values(business)["confirmation_valid_days"])),
    )


def _stories(snapshot: Snapshot) -> tuple[FixStory, ...]:
    said = fixes.by("S. Supervisor", wording.short_day(date(2026, 3, 9)))
    decided = fixes.accepted(fixes.by("A. Technician", wording.short_day(date(2026, 3, 10))))
    items = snapshot.items(confirmation.PHOTO, Effect.HOLDS)
    return tuple(FixStory(item, said, decided, ()) for item in items)


def _confirmation_draft(business: Business) -> Draft:
    snapshot = _snapshot(business)
    return confirmation.build(snapshot, _confirmation(business), _stories(snapshot))


def _treatment_draft(business: Business) -> Draft:
    snapshot = _snapshot(business)
    booking = Booking(
        pk=uuid.UUID(int=2),
        day=TREATED,
        half=Half.MORNING,
        closed_at=ISSUED + timedelta(days=17),
        confirmation=_confirmation(business),
        treated_by=User(name="A. Technician", licence_number=business.licence_number),
        used_ml=5200,
        batch_number="SAMPLE-1",
        weather="Fine",
    )
    return treatment.build(snapshot, booking, _stories(snapshot))


_SAMPLES: dict[str, Callable[[Business], Draft]] = {
    Kind.SITE_REPORT: lambda business: site_report.build(_snapshot(business)),
    Kind.FIX_LIST: lambda business: fix_list.build(
        _snapshot(business), "bricklayer", link=LINK, link_until=ISSUED + timedelta(days=21)
    ),
    Kind.PHOTO_RECORD: lambda business: photo_record.build(_snapshot(business)),
    Kind.CONFIRMATION: _confirmation_draft,
    Kind.TREATMENT: _treatment_draft,
    Kind.GUIDE: lambda business: guide.build(business, None, ISSUED),
    Kind.RULE_VALUES: lambda business: annex.build(_snapshot(business)),
}
