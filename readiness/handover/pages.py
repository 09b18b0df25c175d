"""What the standalone index of an export shows."""

from readiness.handover import story
from readiness.handover.along import Along
from readiness.handover.names import original_name, paper_name
from readiness.models import Paper, Photo, RecordEntry, Site, SiteReport, User
from readiness.photos.markup import svg_overlay
from readiness.photos.sizes import markup_of
from readiness.wording import cautions
from readiness.wording import story as say
from readiness.wording.record import verb_words

PICTURE_PX = 1600


def index_context(site: Site, along: Along) -> dict:
    photos = Photo.objects.filter(site=site).with_originals().order_by("received_at", "pk")
    shown = [
        _photo(photo, original_name(photo.original) if along.originals else "") for photo in photos
    ]
    by_item, by_fix, rest = {}, {}, []
    for one in shown:
        place = by_item if one["item"] else by_fix if one["fix"] else None
        if place is None:
            rest.append(one)
        else:
            place.setdefault(one["item"] or one["fix"], []).append(one)
    reports = SiteReport.objects.filter(site=site).order_by("created_at")
    return {
        "site": site,
        "along": along,
        "story": story.of(site),
        "reports": [_report(report, by_item, by_fix) for report in reports],
        "other_photos": rest,
        "papers": [
            {"name": paper_name(paper), "paper": paper}
            for paper in Paper.objects.filter(site=site).made().order_by("made_at")
        ],
        "history": _history(site),
    }


def _photo(photo: Photo, original: str) -> dict:
    markup = markup_of(photo)
    scale = min(1, PICTURE_PX / max(photo.width_px, photo.height_px))
    width, height = round(photo.width_px * scale), round(photo.height_px * scale)
    return {
        "photo": photo,
        "item": photo.item_id,
        "fix": photo.fix_id,
        "gone": photo.is_removed or photo.original.is_deleted,
        "picture": f"pictures/{photo.pk}.jpg",
        "original": original,
        "width": width,
        "height": height,
        "overlay": svg_overlay(markup.shapes, width, height) if markup else "",
    }


def _report(report: SiteReport, by_item: dict, by_fix: dict) -> dict:
    items = []
    for item in report.items.select_related("wall_run").order_by("number"):
        fixes = [
            {"fix": fix, "photos": by_fix.get(fix.pk, [])} for fix in item.fixes.order_by("said_at")
        ]
        items.append(
            {
                "item": item,
                "cautions": cautions.of_item(item),
                "photos": by_item.get(item.pk, []),
                "fixes": fixes,
            }
        )
    return {"report": report, "items": items}


def _history(site: Site) -> list[dict]:
    entries = list(RecordEntry.objects.filter(site=site).order_by("sequence"))
    people = User.objects.in_bulk({entry.actor_id for entry in entries} - {None})
    return [
        {
            "entry": entry,
            "words": verb_words(entry.verb),
            "who": _who(people, entry.actor_id),
        }
        for entry in entries
    ]


def _who(people: dict, actor_id) -> str:
    """By name only: an address may be one of the things that stay here."""
    if actor_id is None:
        return ""
    person = people.get(actor_id)
    return person.name if person and person.name else say.nobody()
