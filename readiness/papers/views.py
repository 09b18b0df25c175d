"""The pieces that several papers show, made from a report's snapshot: items, walls, letterhead."""

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Protocol
from zoneinfo import ZoneInfo

from readiness.models import Paper, SiteReport
from readiness.papers import wording
from readiness.papers.pictures import Album, Frame, Picture
from readiness.rules.band.perimeter import wall_letter
from readiness.rules.defects.catalogue import FINISHES, TRADES, check_measurement, place
from readiness.rules.defects.defect_kind import MeasurementCheck
from readiness.rules.site.assessment import Assessment, Reason, SiteFacts, assess
from readiness.rules.vocabulary import Effect, ItemState
from readiness.rules.words import amount, listed, metres
from readiness.snapshots import facts_from_snapshot, read
from readiness.wording.cautions import beside_fix
from readiness.wording.measurements import measurement
from readiness.wording.paper import parts as say
from readiness.wording.sources import beside

NOTE_BESIDE_PHOTO = 280
WALLS_NAMED = 5


@dataclass(frozen=True)
class PhotoView:
    """One photo with what is printed beside it."""

    number: int
    picture: Picture
    caption: str
    digest: str
    taken: str
    received: str
    measurements: tuple[str, ...]
    entry: dict  # as the snapshot keeps it

    @property
    def short_digest(self) -> str:
        return wording.short_digest(self.digest)

    @property
    def grouped_digest(self) -> str:
        return wording.grouped_digest(self.digest)


@dataclass(frozen=True)
class ItemView:
    """One item as papers show it. `found` is what was measured against its rule, with its source;
    `found_by_code` is the same, with a source only where that is published: for papers that do not
    ask anybody to go by the business's own limits.
    """

    number: int
    id: str
    kind: str
    name: str
    run_id: str
    run_label: str
    run_letter: str
    place: str
    found: str
    found_by_code: str
    note: str
    fix: str
    cautions: tuple[str, ...]
    trade: str
    trade_words: str
    effect: str
    due: str
    due_on: str
    carried: str
    from_mm: int | None
    to_mm: int | None
    photos: tuple[PhotoView, ...]

    @property
    def more_photo_rows(self) -> list[tuple[PhotoView, ...]]:
        """The photos after the first, two side by side."""
        return [self.photos[start : start + 2] for start in range(1, len(self.photos), 2)]

    @property
    def short_note(self) -> str:
        """The note where it fits beside a photo; a longer one goes across the page."""
        return self.note if len(self.note) <= NOTE_BESIDE_PHOTO else ""

    @property
    def details(self) -> str:
        """What was found against its rule, the note and where the item comes from."""
        note = say.note(self.short_note) if self.short_note else ""
        carried = f"{self.carried}." if self.carried else ""
        photo = "" if self.photos else say.no_photo("none")
        return " ".join(part for part in (self.found, note, carried, photo) if part)

    @property
    def long_note(self) -> str:
        return "" if self.short_note else self.note


@dataclass(frozen=True)
class TradeView:
    """What one trade has to do: a row of page one, and a section of the required fixes."""

    trade: str
    words: str
    items: tuple[ItemView, ...]

    @property
    def what(self) -> str:
        return say.kinds(Counter(item.name for item in self.items))

    @property
    def where(self) -> str:
        """The walls with their letters: a label may have a comma of its own, and so may two."""
        walls = dict.fromkeys(
            say.wall_with_letter(item.run_label, item.run_letter) for item in self.items
        )
        return listed(walls) if len(walls) <= WALLS_NAMED else say.walls(len(walls))

    @property
    def cautions(self) -> tuple[str, ...]:
        """What is said beside the fixes of this trade, each once."""
        return cautions_of(self.items)

    @property
    def numbers(self) -> str:
        return ", ".join(str(item.number) for item in self.items)

    @property
    def first_due(self) -> str:
        return min((item.due_on for item in self.items if item.due_on), default="")

    @property
    def due(self) -> str:
        """The day of all, or the first of several."""
        day = wording.day(self.first_due)
        several = len({item.due_on for item in self.items}) > 1 and self.first_due
        return say.first_by(day) if several else day


class Cautioned(Protocol):
    """Something with a fix, and what is said beside it."""

    @property
    def cautions(self) -> tuple[str, ...]: ...


def cautions_of(things: Iterable[Cautioned]) -> tuple[str, ...]:
    """What is said beside the fixes of these, each once."""
    return tuple(dict.fromkeys(words for thing in things for words in thing.cautions))


class Snapshot:
    """An issued report as it was frozen, with its one assessment, ready to be shown."""

    def __init__(
        self,
        content: dict,
        digest: str = "",
        *,
        album: Album | None = None,
        edition: int = 1,
        edition_reason: str = "",
    ):
        self.content = wording.clean(read(content))
        self.digest = digest
        self.edition, self.edition_reason = edition, edition_reason
        self.facts: SiteFacts = facts_from_snapshot(self.content)
        self.assessment: Assessment = assess(self.facts)
        self.site = self.content["site"]
        self.zone: ZoneInfo = wording.zone_of(self.site["state"])
        self.album = Album(photo_ids(self.content)) if album is None else album
        self.walls = {wall.id: wall for wall in self.facts.walls}
        self._views: dict[tuple[Frame, Frame], tuple[ItemView, ...]] = {}
        self.run_letters = {run.id: wall_letter(n) for n, run in enumerate(self.facts.runs, 1)}

    @classmethod
    def of(cls, report: SiteReport, paper: Paper) -> "Snapshot":
        """The report as this edition of a paper shows it."""
        return cls(
            report.snapshot,
            report.digest,
            edition=paper.edition,
            edition_reason=paper.edition_reason,
        )

    @property
    def number(self) -> int:
        return self.content["number"]

    @property
    def address(self) -> str:
        return address(self.site)

    def items(
        self, frame: Frame, effect: str = "", trade: str = "", *, more: Frame | None = None
    ) -> tuple[ItemView, ...]:
        """The report's items in order; the first photo of each is fitted into `frame`.

        `more` is the frame of the photos after it, where that is another.
        """
        frames = (frame, more or frame)
        if frames not in self._views:
            self._views[frames] = tuple(
                self._item(entry, frames) for entry in self.content["items"]
            )
        return tuple(
            view
            for view in self._views[frames]
            if effect in ("", view.effect) and trade in ("", view.trade)
        )

    def trades(self, frame: Frame) -> tuple[TradeView, ...]:
        """The items that hold the booking by trade, the trade whose fix is due first first."""
        held = {reason.item_id for reason in self.assessment.confirm_reasons if reason.item_id}
        groups: dict[str, list[ItemView]] = {}
        for item in self.items(frame, Effect.HOLDS):
            if item.id in held:
                groups.setdefault(item.trade, []).append(item)
        views = [
            TradeView(trade, TRADES.get(trade, trade), tuple(items))
            for trade, items in groups.items()
        ]
        return tuple(sorted(views, key=lambda view: (view.first_due or "9999", view.words)))

    def other_reasons(self) -> tuple[Reason, ...]:
        """What stands in the way and is no item: unchecked walls, drying."""
        return tuple(r for r in self.assessment.confirm_reasons if r.item_id is None or r.until)

    def _item(self, entry: dict, frames: tuple[Frame, Frame]) -> ItemView:
        kind, run = self.facts.kind(entry["kind"]), self.walls.get(entry["run"])
        label = run.label if run else say.removed_wall()
        where = place(label, entry["from_mm"], entry["to_mm"])
        check = check_measurement(kind, entry["measured_value"], self.facts.values)
        source, published = self._sources(check)
        return ItemView(
            number=entry["number"],
            id=entry["id"],
            kind=entry["kind"],
            name=kind.name,
            run_id=entry["run"],
            run_label=label,
            run_letter=self.run_letters.get(entry["run"], ""),
            place=wording.with_units(where),
            found=wording.with_units(_found(entry, check, source)),
            found_by_code=wording.with_units(_found(entry, check, published)),
            note=entry["note"],
            fix=wording.with_units(entry["required_fix"]),
            cautions=tuple(
                wording.with_units(words)
                for words in beside_fix(entry["required_fix"], kind.cautions)
            ),
            trade=entry["trade"],
            trade_words=TRADES.get(entry["trade"], entry["trade"]),
            effect=entry["effect"],
            due=wording.day(entry["due_on"]),
            due_on=entry["due_on"] or "",
            carried=_carried(entry),
            from_mm=entry["from_mm"],
            to_mm=entry["to_mm"],
            photos=tuple(
                self.photo(photo, number, frames[number > 1], say.about(kind.name, where))
                for number, photo in enumerate(entry["photos"], 1)
            ),
        )

    def _sources(self, check: MeasurementCheck | None) -> tuple[str, str]:
        """The source of the rule that was held against, and the same where it is published."""
        if check is None or check.rule_key is None or not check.believable:
            return "", ""
        values, key = self.facts.values, check.rule_key
        return values.source_words(key), values.published_words(key)

    def photo(self, entry: dict, number: int, frame: Frame, about: str) -> PhotoView:
        """One photo of the snapshot; `about` is what it shows, for its text alternative."""
        alt = say.photo_alt(number, about, entry["caption"])
        return PhotoView(
            number=number,
            picture=self.album.place(entry, frame, alt),
            caption=entry["caption"],
            digest=entry["sha256"],
            taken=_taken(entry, self.zone),
            received=wording.exact(entry["received_at"], self.zone),
            measurements=tuple(
                say.photo_measured(m["value_mm"], m["uncertainty_mm"], m["reference"])
                for m in entry["measurements"]
            ),
            entry=entry,
        )


def photo_ids(content: dict) -> list[str]:
    """The ids of every photo that a snapshot speaks of."""
    referrals = content.get("referrals", ())
    decisions = [decision for referral in referrals for decision in referral["decisions"]]
    things = [*content["items"], *content["checks"], *referrals, *decisions]
    return [photo["id"] for thing in things for photo in thing.get("photos", ())]


def address(site: dict) -> str:
    return f"{site['street']}, {site['suburb']} {site['state']} {site['postcode']}".strip()


def letterhead_lines(business: Mapping) -> list[str]:
    """The business's address, line by line."""
    return [line.strip() for line in business.get("address", "").split("\n") if line.strip()]


def letterhead(business: dict) -> dict:
    """The head of every paper: lines that are empty are left out."""
    lines = letterhead_lines(business)
    licence = business.get("licence_number", "")
    return {
        "name": business["name"],
        "note": business.get("letterhead_note", ""),
        "lines": [
            *([say.licence(licence)] if licence else []),
            *lines,
            *([business["phone"]] if business.get("phone") else []),
        ],
        "email": business.get("email", ""),
        "contact": ", ".join(
            business[key] for key in ("name", "phone", "email") if business.get(key)
        ),
    }


def person(entry: dict | None) -> str:
    """A person with their licence, as the snapshot keeps them."""
    if not entry:
        return ""
    return say.person(entry["name"], entry.get("licence_number", ""))


def people(content: dict) -> list[tuple[str, str]]:
    """Who made a report, as label and person: one line, or two where another person issued it."""
    prepared, issued = content["prepared_by"], content["issued_by"]
    if prepared and issued and prepared["id"] != issued["id"]:
        found = {"prepared": person(prepared), "issued": person(issued)}
    else:
        found = {"made": person(issued or prepared)}
    return say.labelled(say.LABELS, found)


def finish_words(run) -> str:
    return FINISHES.get(run.finish, run.finish)


def run_length(run) -> str:
    return metres(run.length_mm)


def _carried(entry: dict) -> str:
    """Which item of the report before it was, and how it stood when this one was issued."""
    carried = entry["carried_from"]
    if not carried:
        return ""
    state = "disputed" if entry.get("disputed_at") else entry["state"] or ItemState.TO_FIX
    if entry["effect"] == Effect.RECORD:
        state = ""
    return say.carried(carried["number"], carried["report"], state)


def _found(entry: dict, check: MeasurementCheck | None, source: str) -> str:
    if check is None:
        return ""
    words = beside(measurement(check), source)
    if entry["measured_from"] == "photo":
        give = amount(entry["measured_uncertainty"] or 0, check.unit)
        return say.measured_from_photo(words, give)
    return words


def _taken(entry: dict, zone: ZoneInfo) -> str:
    """What the camera said, and no more than that."""
    if entry.get("taken_from"):
        said = wording.exact(entry["taken_at"], zone) if entry["taken_at"] else ""
        said = said or say.camera_no_zone(entry["taken_at_local"])
        return say.camera_xmp_only(said, entry["taken_from"])
    if entry["taken_at"]:
        return wording.exact(entry["taken_at"], zone)
    if entry["taken_at_local"]:
        return say.camera_no_zone(entry["taken_at_local"])
    return say.camera_no_time()
