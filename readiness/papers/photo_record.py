"""The photo record: every photo of what was there before, with all that is known about it."""

import math
from collections.abc import Iterator
from dataclasses import dataclass

from readiness.models import Paper
from readiness.papers import data, wording
from readiness.papers.pdf import Draft
from readiness.papers.pictures import Frame
from readiness.papers.report_draft import report_draft
from readiness.papers.site_report import head
from readiness.papers.views import PhotoView, Snapshot, people
from readiness.rules.defects.catalogue import place
from readiness.rules.vocabulary import ReferralKind
from readiness.rules.words import amount
from readiness.wording import states
from readiness.wording.paper import parts, referrals
from readiness.wording.paper import photos as say
from readiness.wording.referrals import stretch

PHOTO = Frame(173, 94)
LINES_UNDER_PHOTO, LINE_MM, LETTERS_A_LINE = 4, 4, 98


@dataclass(frozen=True)
class Leaf:
    """One photo with its heading and the lines printed under it."""

    badge: str
    heading: str
    photo: PhotoView
    lines: tuple[str, ...]
    facts: tuple[str, str, str]  # where, what was measured, the effect

    @property
    def words(self) -> str:
        return "\n".join(self.lines)


def draft(paper: Paper) -> Draft:
    """The photo record of the paper's issued report."""
    return build(Snapshot.of(paper.report, paper))


def build(snapshot: Snapshot) -> Draft:
    content = snapshot.content
    leaves = list(_leaves(snapshot))
    name = say.name()
    context = {
        **head(snapshot, name, short_name=say.short_name()),
        "made": _made(snapshot),
        "summary": _summary(snapshot, leaves),
        "carried": _carried(content["items"]),
        "leaves": leaves,
        "whole_digests": True,
        "without": [
            say.item_without(item["number"], snapshot.facts.kind(item["kind"]).name)
            for item in content["items"]
            if not item["photos"]
        ],
    }
    return report_draft(
        "photo_record",
        snapshot,
        name,
        context,
        description=say.description(),
        report_sha256=snapshot.digest,
        visited_on=content["visited_on"],
        people=[{"role": label, "name": person} for label, person in people(content)]
        if len(people(content)) > 1
        else [{"name": person} for _, person in people(content) if person],
        photos=[_leaf_data(leaf) for leaf in leaves],
        without_photo=context["without"],
    )


def _leaf_data(leaf: Leaf) -> dict:
    where, measured, effect = leaf.facts
    return data.told(
        item=int(leaf.badge) if leaf.badge.isdecimal() else None,
        heading=leaf.heading,
        where=where,
        measured=measured,
        effect=effect,
        filename=leaf.photo.entry["filename"],
        received_at=leaf.photo.entry["received_at"],
    ) | data.renamed(data.photo(leaf.photo), measured="measured_on_photo")


def _made(snapshot: Snapshot) -> str:
    """On which visit, by whom, for which report; who issued it, where that is another person."""
    content = snapshot.content
    visit, report = wording.day(content["visited_on"]), content["number"]
    names = [name for _, name in people(content)]
    if len(names) > 1:
        return say.made_by_two(visit, names[0], names[1], report)
    return say.made_by_one(visit, "".join(names), report)


def _leaves(snapshot: Snapshot) -> Iterator[Leaf]:
    """The photos of the items in their order, then those of walls that were checked, then of what
    only a technician decides.
    """
    for entry in snapshot.content["items"]:
        kind, run = snapshot.facts.kind(entry["kind"]), snapshot.walls.get(entry["run"])
        label = run.label if run else parts.removed_wall()
        where = place(label, entry["from_mm"], entry["to_mm"])
        for number, photo in enumerate(entry["photos"], 1):
            facts = (where, _measured(entry, kind), states.words(entry["effect"]))
            view, lines = _fitted(snapshot, photo, number, parts.about(kind.name, where), facts)
            yield Leaf(str(entry["number"]), kind.name, view, lines, facts)
    for check in snapshot.content["checks"]:
        run = snapshot.walls.get(check["run"])
        for number, photo in enumerate(check.get("photos", ()), 1):
            label = run.label if run else parts.removed_wall()
            facts = (label, "", "")
            view, lines = _fitted(snapshot, photo, number, say.as_checked(label), facts)
            yield Leaf("✓", say.wall_checked(), view, lines, facts)
    for referral in snapshot.content["referrals"]:
        is_find = referral["kind"] == ReferralKind.LIVE_TERMITES
        heading = referrals.heading_of_photo() if is_find else referrals.heading_of_access()
        where = stretch(referral["wall"], referral["from_mm"], referral["to_mm"])
        facts = (where if referral["wall"] else referrals.no_wall(), "", "")
        decided = [photo for decision in referral["decisions"] for photo in decision["photos"]]
        for number, photo in enumerate([*referral["photos"], *decided], 1):
            view, lines = _fitted(snapshot, photo, number, heading, facts)
            yield Leaf("!", heading, view, lines, facts)


def _fitted(
    snapshot: Snapshot, photo: dict, number: int, about: str, facts: tuple[str, str, str]
) -> tuple[PhotoView, tuple[str, ...]]:
    """A photo and its words; it is smaller where they are many, as two leaves share a page."""
    view = snapshot.photo(photo, number, PHOTO, about)
    lines = _lines(photo, view, *facts)
    more = sum(math.ceil(len(line) / LETTERS_A_LINE) for line in lines) - LINES_UNDER_PHOTO
    if more > 0:
        frame = Frame(PHOTO.width_mm, PHOTO.height_mm - more * LINE_MM)
        view = snapshot.photo(photo, number, frame, about)
    return view, lines


def _lines(photo: dict, view: PhotoView, where: str, measured: str, effect: str) -> tuple:
    """Few and long lines: where and what, both times, and how to know the file again."""
    return tuple(
        ". ".join(part.rstrip(".") for part in parts if part) + "."
        for parts in (
            (where, measured, *map(say.on_photo, view.measurements), effect),
            (say.camera_said(view.taken), say.server_received(view.received)),
            (
                say.digest(view.digest),
                say.file(photo["filename"]) if photo["filename"] else "",
            ),
            (photo["caption"],),
        )
        if any(parts)
    )


def _measured(entry: dict, kind) -> str:
    if entry["measured_value"] is None or kind.measurement is None:
        return ""
    unit = kind.measurement.unit
    label, found = kind.measurement.label, amount(entry["measured_value"], unit)
    if entry["measured_from"] == "photo":
        give = amount(entry["measured_uncertainty"] or 0, unit)
        return say.measured_from_photo(label, found, give)
    if entry["measured_from"] == "tape":
        return say.measured_with_tape(label, found)
    return say.measured(label, found)


def _carried(items: list[dict]) -> str:
    """Which items came from an earlier report, as their photos may be older than this visit."""
    carried = [item for item in items if item.get("carried_from") and item["photos"]]
    return say.carried([item["number"] for item in carried])


def _summary(snapshot: Snapshot, leaves: list[Leaf]) -> str:
    items = [item for item in snapshot.content["items"] if item["photos"]]
    checks = [check for check in snapshot.content["checks"] if check.get("photos")]
    walls = {entry["run"] for entry in (*items, *checks)}
    return say.summary(len(leaves), len(items), len(walls))
