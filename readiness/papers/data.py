"""The data that goes with a paper, as JSON: what the paper prints, and nothing else.

schema/paper-3.json describes this version; papers made before carry what those before it describe.
Whoever holds a paper holds its data: no rate, no name, no number goes in that its pages do not
show. A photo's SHA-256 is whole here where the pages print its first characters.
"""

from collections.abc import Iterable, Mapping
from typing import Any

from readiness.papers.views import ItemView, PhotoView, Snapshot, letterhead_lines

FORMAT = "site-readiness-paper"
VERSION = 3


def of_paper(
    kind: str, business: Mapping, name: str, edition: int, edition_reason: str, **content: Any
) -> dict:
    """What every paper prints (who it is from, its name and edition), and this one's content."""
    return {
        "format": FORMAT,
        "version": VERSION,
        "paper": told(
            kind=kind,
            name=name,
            edition=edition,
            edition_reason=edition_reason if edition > 1 else "",
        ),
        "business": told(
            name=business["name"],
            note=business.get("letterhead_note", ""),
            licence_number=business.get("licence_number", ""),
            address=letterhead_lines(business),
            phone=business.get("phone", ""),
            email=business.get("email", ""),
        ),
        **told(**content),
    }


def of_report(kind: str, snapshot: Snapshot, context: Mapping, **content: Any) -> dict:
    """The data of a paper that shows a report; `context` is what its template is given."""
    return of_paper(
        kind,
        snapshot.content["business"],
        context["name"],
        context["edition"],
        context["edition_reason"],
        site=told(
            address=snapshot.address,
            builder=snapshot.site["builder"],
            job_number=snapshot.site["job_number"],
        ),
        report={"number": snapshot.number, "issued_at": snapshot.content["issued_at"]},
        **content,
    )


def told(**parts: Any) -> dict:
    """These parts without those that say nothing, as the pages leave them out too."""
    return {key: _plain(part) for key, part in parts.items() if part not in ("", None, [], (), {})}


def _plain(part: Any) -> Any:
    """A text without the spaces that only hold a line together."""
    if isinstance(part, str):
        return part.replace("\u00a0", " ")
    if isinstance(part, list | tuple):
        return [_plain(one) for one in part]
    return part


def where(item: ItemView) -> dict:
    """Which item, of what kind, and where."""
    return told(
        number=item.number,
        kind=item.name,
        wall=item.run_label,
        from_mm=item.from_mm,
        to_mm=item.to_mm if item.to_mm != item.from_mm else None,
    )


def whole_item(item: ItemView, *, fix: bool = True, trade: bool = False) -> dict:
    """An item with what was found and its photos; the fix and the trade where they are printed."""
    return where(item) | told(
        required_fix=item.fix if fix else "",
        cautions=item.cautions if fix else (),
        trade=item.trade_words if trade else "",
        due_on=item.due_on if trade else "",
        found=item.found,
        note=item.note,
        carried_from=item.carried,
        photos=[photo(view) for view in item.photos],
    )


def photo(view: PhotoView, *, caption: bool = True, digest: bool = True) -> dict:
    """A photo as it is printed beside an item."""
    entry = view.entry
    taken_at = entry["taken_at"]
    return told(
        sha256=view.digest if digest else "",
        caption=view.caption if caption else "",
        taken_at=taken_at,
        taken_at_local="" if taken_at else entry["taken_at_local"],
        measured=view.measurements if caption else (),
    )


def renamed(parts: Mapping, **names: str) -> dict:
    """The same parts, some of them under another name."""
    return {names.get(key, key): part for key, part in parts.items()}


def stories(told_of: Iterable[Any]) -> list[dict]:
    """What became of each item that held the booking, as the table of stories prints it."""
    return [
        where(story.item)
        | told(
            trade=story.item.trade_words,
            found=story.item.found_by_code,
            said_fixed=story.said,
            decided=story.decided,
            earlier=story.earlier,
        )
        for story in told_of
    ]
