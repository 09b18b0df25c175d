"""A report's content as it was when issued: plain JSON that its papers are made from for ever.

Version 2 keeps, beside the values, what the kinds and rules were called, what was measured and
where each value came from: a paper made again years later says what it said. Of version 1 those
words are today's. Version 3 keeps of each source how it is known and its edition, and what only a
licensed technician decides, with the decisions so far. What version 2 had from memory only is no
source any more. Every version is read (`read`), and none is ever written again in place.
"""

import hashlib
from collections.abc import Iterable
from dataclasses import asdict
from datetime import date, datetime

from readiness.canonical import canonical
from readiness.facts import SiteState, rule_values
from readiness.models import (
    Business,
    DefectItem,
    Referral,
    ReferralDecision,
    RunCheck,
    Site,
    SiteReport,
    WallRun,
)
from readiness.rules.band import geometry
from readiness.rules.defects.catalogue import STATES, get_kind
from readiness.rules.defects.defect_kind import kind_words, with_words
from readiness.rules.site.assessment import (
    CheckFacts,
    ItemFacts,
    ReferralFacts,
    ReportFacts,
    SiteFacts,
    VisitFacts,
)
from readiness.rules.values.rule_values import RuleValues
from readiness.rules.values.sources import Source, SourceKind
from readiness.rules.vocabulary import BookingState

VERSION = 3
"""2 also says since when an item is disputed, and when a house was treated; 3 the cautions of each
kind, which stood in the words of its fix before, and each rule's source as one thing."""
LETTERHEAD = (
    "name", "licence_number", "address", "phone", "email", "letterhead_note", "technician_name",
    "technician_phone", "product_name", "report_introduction", "currency", "paper_size",
)  # fmt: skip
"""What papers say of the business."""


class UnknownSnapshot(Exception):
    """A snapshot of a version that this code can't read; the text says what to do."""


def read(snapshot: dict) -> dict:
    """A snapshot of any version so far, in the shape of the newest. Leaves the stored one alone."""
    version = snapshot.get("version")
    if version not in READERS:
        raise UnknownSnapshot(
            f"The report was issued by a later version of the portal (content {version}). "
            "Upgrade the portal first."
        )
    return READERS[version](snapshot)


def _read_1(snapshot: dict) -> dict:
    return _read_2({**snapshot, "kinds": {}, "rules": [], "treated_on": None})


def _read_2(snapshot: dict) -> dict:
    kinds = {slug: {**words, "cautions": []} for slug, words in snapshot["kinds"].items()}
    rules = [_rule_of_2(rule) for rule in snapshot["rules"]]
    return {**snapshot, "kinds": kinds, "rules": rules, "referrals": []}


def _rule_of_2(rule: dict) -> dict:
    """A rule with its source as one thing; only what was called published was one."""
    kept = {key: value for key, value in rule.items() if key != "source_kind"}
    is_source = rule["source_kind"] == "published"
    kind = SourceKind.PUBLISHED if is_source else SourceKind.OWN
    source = Source(kind, rule["source"] if is_source else "")
    return {**kept, "bound": "", "source": asdict(source)}


READERS = {1: _read_1, 2: _read_2, 3: lambda snapshot: snapshot}


def kept_words(slugs: Iterable[str], values: RuleValues) -> dict:
    """The words of kinds and rules that a snapshot keeps."""
    return {
        "kinds": {slug: kind_words(get_kind(slug)) for slug in sorted(set(slugs))},
        "rules": values.rules_as_list(),
    }


def snapshot_digest(snapshot: dict) -> str:
    """SHA-256 of a content as JSON with sorted keys and no spaces, in hex."""
    return hashlib.sha256(canonical(snapshot)).hexdigest()


def letterhead_of(business: Business) -> dict:
    """What papers say of the business, as it is set now."""
    return {name: getattr(business, name) for name in LETTERHEAD}


def report_snapshot(report: SiteReport) -> dict:
    """Everything a report's papers are made from, as JSON: they never change with the site.

    Holds the business's letterhead, the site, walls with levels, checks, items with the digests of
    their photos, and the rule values. Lengths are mm.
    """
    business, site = Business.current(), report.site
    runs = list(site.wall_runs.filter(removed_at=None))
    items, values = list(_items_with_photos(report)), rule_values(business)
    return {
        "version": VERSION,
        "number": report.number,
        "issued_at": report.issued_at.isoformat() if report.issued_at else None,
        "visited_on": report.visited_on.isoformat(),
        "treatment_wanted_on": _day(report.treatment_wanted_on),
        "treated_on": _treated_on(site),
        "weather": report.weather,
        "notes": report.notes,
        "prepared_by": _person(report.prepared_by),
        "issued_by": _person(report.issued_by),
        "supersedes": report.supersedes.number if report.supersedes else None,
        "business": letterhead_of(business),
        "site": {
            "id": str(site.pk),
            "street": site.street,
            "suburb": site.suburb,
            "state": site.state,
            "postcode": site.postcode,
            "job_number": site.job_number,
            "house_type": site.house_type,
            "datum": site.datum,
            "builder": site.builder.name,
            "rained_at": site.rained_at.isoformat() if site.rained_at else None,
        },
        "runs": [_run_snapshot(run) for run in runs],
        "checks": [_check_snapshot(check) for check in _checks_with_photos(report)],
        "items": [_item_snapshot(item) for item in items],
        "referrals": referrals_snapshot(site),
        "rule_values": values.as_dict(),
        "fixes_needed": business.fixes_needed,
        **kept_words((item.kind for item in items), values),
    }


def facts_from_snapshot(snapshot: dict) -> SiteFacts:
    """The facts as they stood when the report was issued, for its papers; `snapshot` was `read`."""
    issued_at = datetime.fromisoformat(snapshot["issued_at"])
    site = snapshot["site"]
    return SiteFacts(
        runs=tuple(snapshot_run(run) for run in snapshot["runs"]),
        report=ReportFacts(
            number=snapshot["number"],
            issued_at=issued_at,
            checks=tuple(
                CheckFacts(check["run"], datetime.fromisoformat(check["checked_at"]))
                for check in snapshot["checks"]
            ),
        ),
        now=issued_at,
        items=tuple(_snapshot_item(item, issued_at) for item in snapshot["items"]),
        last_visit=_treatment(snapshot, issued_at),
        referrals=snapshot_referrals(snapshot["referrals"]),
        rain_at=datetime.fromisoformat(site["rained_at"]) if site["rained_at"] else None,
        zone=STATES[site["state"]].zone,
        reported_is_enough=snapshot["fixes_needed"] == Business.FixesNeeded.REPORTED_FIXED,
        values=RuleValues.from_json(snapshot["rule_values"], snapshot["rules"]),
        kinds={
            slug: with_words(get_kind(slug), words) for slug, words in snapshot["kinds"].items()
        },
    )


def snapshot_run(run: dict) -> geometry.WallRun:
    """A wall run as it was when the report was issued."""
    return geometry.WallRun(
        id=run["id"],
        label=run["label"],
        length_mm=run["length_mm"],
        finish=run["finish"],
        turn_degrees=run["turn_degrees"],
    ).with_levels(run["levels"])


def _snapshot_item(item: dict, issued_at: datetime) -> ItemFacts:
    washed = item["cleaned_wet_at"]
    return ItemFacts(
        id=item["id"],
        number=item["number"],
        run_id=item["run"],
        kind=item["kind"],
        effect=item["effect"],
        state=item["state"] or None,
        from_mm=item["from_mm"],
        to_mm=item["to_mm"],
        measured_value=item["measured_value"],
        trade=item["trade"],
        due_on=datetime.fromisoformat(item["due_on"]).date() if item["due_on"] else None,
        disputed=bool(item.get("disputed_at")),
        cleaned_wet_at=datetime.fromisoformat(washed) if washed else None,
        issued_at=issued_at,
    )


def snapshot_referrals(entries: Iterable[dict]) -> tuple[ReferralFacts, ...]:
    """What only a technician decides, as `referrals_snapshot` kept it, as facts."""
    return tuple(_snapshot_referral(entry) for entry in entries)


def _snapshot_referral(entry: dict) -> ReferralFacts:
    last = entry["decisions"][-1] if entry["decisions"] else None
    return ReferralFacts(
        id=entry["id"],
        kind=entry["kind"],
        noted_at=datetime.fromisoformat(entry["noted_at"]),
        run_id=entry["run"],
        from_mm=entry["from_mm"],
        to_mm=entry["to_mm"],
        cause=entry["cause"],
        outcome=last["outcome"] if last else None,
        decided_at=datetime.fromisoformat(last["decided_at"]) if last else None,
    )


def _treated_on(site: Site) -> str | None:
    """The day of the treatment, where the house is treated already."""
    state = SiteState.of(site)
    return _day(state.last_visit.day) if state.facts().is_treated else None


def _treatment(snapshot: dict, issued_at: datetime) -> VisitFacts | None:
    day = snapshot["treated_on"]
    return VisitFacts(BookingState.TREATED, date.fromisoformat(day), issued_at) if day else None


def _day(day) -> str | None:
    return day.isoformat() if day else None


def _person(user) -> dict | None:
    if user is None:
        return None
    return {"id": str(user.pk), "name": str(user), "licence_number": user.licence_number}


def _run_snapshot(run: WallRun) -> dict:
    return {
        "id": str(run.pk),
        "label": run.label,
        "length_mm": run.length_mm,
        "finish": run.finish,
        "turn_degrees": run.turn_degrees,
        "levels": run.levels,
    }


def _check_snapshot(check: RunCheck) -> dict:
    return {
        "run": str(check.wall_run_id),
        "checked_at": check.checked_at.isoformat(),
        "checked_by": _person(check.checked_by),
        "note": check.note,
        "photos": _photos_snapshot(check),
    }


def _photos_snapshot(thing: DefectItem | RunCheck | Referral | ReferralDecision) -> list[dict]:
    return [photo_snapshot(photo) for photo in thing.photos.all() if not photo.removed_at]


def _checks_with_photos(report: SiteReport) -> Iterable[RunCheck]:
    return report.checks.select_related("checked_by").prefetch_related(
        "photos__original", "photos__markup", "photos__measurements"
    )


def _items_with_photos(report: SiteReport) -> Iterable[DefectItem]:
    return (
        report.items.select_related("wall_run", "carried_from__report")
        .prefetch_related("photos__original", "photos__markup", "photos__measurements")
        .order_by("number")
    )


def _item_snapshot(item: DefectItem) -> dict:
    carried = item.carried_from
    return {
        "id": str(item.pk),
        "number": item.number,
        "run": str(item.wall_run_id),
        "kind": item.kind,
        "from_mm": item.from_mm,
        "to_mm": item.to_mm,
        "measured_value": item.measured_value,
        "measured_from": item.measured_from,
        "measured_uncertainty": item.measured_uncertainty,
        "note": item.note,
        "required_fix": item.required_fix,
        "trade": item.trade,
        "effect": item.effect,
        "state": item.state,
        "disputed_at": item.disputed_at.isoformat() if item.is_disputed else None,
        "due_on": _day(item.due_on),
        "cleaned_wet_at": item.cleaned_wet_at.isoformat() if item.cleaned_wet_at else None,
        "carried_from": {"report": carried.report.number, "number": carried.number}
        if carried
        else None,
        "photos": _photos_snapshot(item),
    }


def referrals_snapshot(site: Site, until: datetime | None = None) -> list[dict]:
    """What only a technician decides on a site, with the decisions: as now, or as it stood then.

    A wall that is no more has no access that anybody could lack.
    """
    found = site.referrals.select_related("wall_run", "noted_by").prefetch_related(
        *(f"{of}photos__{part}" for of in ("", "decisions__") for part in _OF_PHOTOS), "decisions"
    )
    if until is not None:
        found = found.filter(noted_at__lte=until)
    return [
        _referral_snapshot(referral, until)
        for referral in found
        if referral.is_termites or not referral.wall_run.removed_at
    ]


_OF_PHOTOS = ("original", "markup", "measurements")


def _referral_snapshot(referral: Referral, until: datetime | None) -> dict:
    decisions = referral.decisions.all()
    return {
        "id": str(referral.pk),
        "kind": referral.kind,
        "run": str(referral.wall_run_id) if referral.wall_run_id else None,
        "wall": referral.wall_run.label if referral.wall_run else "",
        "from_mm": referral.from_mm,
        "to_mm": referral.to_mm,
        "cause": referral.cause,
        "note": referral.note,
        "noted_at": referral.noted_at.isoformat(),
        "noted_by": _person(referral.noted_by),
        "photos": _photos_snapshot(referral),
        "decisions": [
            {
                "outcome": decision.outcome,
                "reason": decision.reason,
                "name": decision.name,
                "licence_number": decision.licence_number,
                "decided_at": decision.decided_at.isoformat(),
                "photos": _photos_snapshot(decision),
            }
            for decision in decisions
            if until is None or decision.decided_at <= until
        ],
    }


def photo_snapshot(photo) -> dict:
    """A photo as papers show it: its digest, both times, markup and measurements."""
    original, markup = photo.original, getattr(photo, "markup", None)
    return {
        "id": str(photo.pk),
        "sha256": original.digest,
        "width_px": original.width_px,
        "height_px": original.height_px,
        "filename": photo.filename,
        "caption": photo.caption,
        "received_at": photo.received_at.isoformat(),
        "taken_at": photo.taken_at.isoformat() if photo.taken_at else None,
        "taken_at_local": photo.taken_at_local,
        "taken_offset": photo.taken_offset,
        **({"taken_from": photo.taken_from} if photo.taken_from else {}),
        "markup": markup.shapes if markup else [],
        "measurements": [
            {
                "value_mm": measurement.value_mm,
                "uncertainty_mm": measurement.uncertainty_mm,
                "reference": measurement.reference,
            }
            for measurement in photo.measurements.all()
        ],
    }
