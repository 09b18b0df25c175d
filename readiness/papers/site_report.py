"""The site report: page one answers, the later pages show why. All of it from one assessment."""

from collections.abc import Mapping
from dataclasses import dataclass

from readiness.models import Paper
from readiness.papers import data, figures, wording
from readiness.papers.pdf import Draft
from readiness.papers.pictures import Frame
from readiness.papers.report_draft import report_draft
from readiness.papers.rule_pages import rule_groups
from readiness.papers.views import (
    ItemView,
    Snapshot,
    TradeView,
    finish_words,
    letterhead,
    people,
    person,
    run_length,
)
from readiness.rules.band.levels import TreatmentLine, solve
from readiness.rules.band.quantities import cleaning_cost, site_quantities
from readiness.rules.codes import Code
from readiness.rules.vocabulary import Effect, Readiness
from readiness.rules.words import counted, listed, metres
from readiness.wording.levels import gauge_doubts, line_sentence, not_checked
from readiness.wording.paper import PAPER
from readiness.wording.quantities import working
from readiness.wording.states import wall_words, words

PHOTO = Frame(72, 54)
WALLS_BESIDE_PLAN = 10  # lines that fit beside it with the facts of the visit
MOST_PLAN_HEIGHT = {"A4": 220, "letter": 180}  # it stands on page one under four trades, too
RUNNING_HEAD = 82  # letters that fit on the line, however wide
SYMBOLS: Mapping[str, str] = {
    Readiness.READY: "ready",
    Readiness.NOT_READY: "not-ready",
    Readiness.TREATED: "ready",
}


@dataclass(frozen=True)
class WallView:
    """One wall run: what it is, its drawing, and what was said about it."""

    letter: str
    label: str
    finish: str
    length: str
    status: str
    sentence: str
    drawing: str
    notes: tuple[str, ...]
    items: tuple[ItemView, ...]
    checked: str
    check_note: str
    found_right: bool

    @property
    def brief(self) -> str:
        """Name, finish, length and state in one line."""
        return f"{self.label} · {self.finish.lower()}, {self.length} · {self.status.lower()}"

    @property
    def summary(self) -> str:
        """The same, with the items."""
        numbers = ", ".join(str(item.number) for item in self.items)
        items = f" · item{'s' if len(self.items) > 1 else ''} {numbers}" if numbers else ""
        return f"{self.brief}{items}"


def draft(paper: Paper) -> Draft:
    """The site report of the paper's issued report."""
    return build(Snapshot.of(paper.report, paper))


def build(snapshot: Snapshot) -> Draft:
    content = snapshot.content
    title = f"Site report {snapshot.number}"
    trades = snapshot.trades(PHOTO)
    small = snapshot.items(PHOTO, Effect.ON_THE_DAY)
    walls = _walls(snapshot)
    found = site_quantities(snapshot.facts.runs, snapshot.facts.values)
    context = {
        **head(snapshot, title),
        "answer": answer(snapshot, trades),
        "trades": trades,
        "other_reasons": [PAPER.sentence(reason) for reason in snapshot.other_reasons()],
        "small": small,
        "recorded": snapshot.items(PHOTO, Effect.RECORD),
        "with_photos": any(item.photos for item in snapshot.items(PHOTO)),
        "plan": figures.plan(
            snapshot,
            snapshot.items(PHOTO),
            most_height=MOST_PLAN_HEIGHT[content["business"]["paper_size"]],
        ),
        "walls": walls,
        "not_checked": not_checked(),
        "walls_beside_plan": WALLS_BESIDE_PLAN,
        "right": [wall for wall in walls if wall.found_right],
        "facts": _facts(snapshot),
        "introduction": content["business"]["report_introduction"],
        "notes": content["notes"],
        "quantities": working(found, snapshot.facts.values),
        "cleaning": _cleaning(snapshot, trades),
        "rules": rule_groups(snapshot.facts.values),
        "prepared_by": person(content["prepared_by"] or content["issued_by"]),
        "product": content["business"]["product_name"],
    }
    return report_draft(
        "site_report",
        snapshot,
        title,
        context,
        description="Pre-treatment site report: what to fix, for whom and by when",
        report_sha256=snapshot.digest,
        answer={"words": context["answer"]["words"], "sentence": context["answer"]["sentence"]},
        reasons=context["other_reasons"],
        facts=[{"what": label, "value": value} for label, value in context["facts"]],
        introduction=context["introduction"],
        notes=context["notes"],
        to_fix=[
            data.whole_item(item, trade=True) for trade in trades for item in trade.items
        ],
        applicator_will_do=[data.whole_item(item) for item in small],
        record_only=[data.whole_item(item, fix=False) for item in context["recorded"]],
        walls=[_wall_data(wall) for wall in walls],
        quantities=[
            {"what": step.what, "result": step.result, "working": step.working}
            for step in context["quantities"].steps
        ],
        quantity_notes=context["quantities"].notes,
        if_the_applicator_did_it=context["cleaning"],
        rule_values=[
            data.told(
                group=group, label=row.label, value=row.value, source=row.source,
                set_by_the_business=row.changed or None,
            )
            for group, rows in context["rules"]
            for row in rows
        ],
    )  # fmt: skip


def _wall_data(wall: WallView) -> dict:
    return data.told(
        letter=wall.letter,
        label=wall.label,
        finish=wall.finish,
        length=wall.length,
        status=wall.status,
        line=wall.sentence,
        notes=wall.notes,
        items=[item.number for item in wall.items],
        walked=wall.checked,
        check_note=wall.check_note,
    )


def head(snapshot: Snapshot, name: str, *, short_name: str = "") -> dict:
    """What every paper of a report carries: letterhead, title, running head, edition.

    `short_name` is for the running head, which has one line for name, report and address.
    """
    site = snapshot.site
    which = _with_report(short_name or name, snapshot.number)
    return {
        "letterhead": letterhead(snapshot.content["business"]),
        "name": name,
        "address": snapshot.address,
        "builder": site["builder"],
        "job_number": site["job_number"],
        "running": wording.shortened(f"{which} · {snapshot.address}", RUNNING_HEAD),
        "edition": snapshot.edition,
        "edition_reason": snapshot.edition_reason,
        "report_digest": wording.grouped_digest(snapshot.digest),
        "report_number": snapshot.number,
        "issued": wording.when(snapshot.content["issued_at"], snapshot.zone),
        "local_time": wording.local_time(site["state"]),
    }


def _with_report(name: str, number: int) -> str:
    """A paper's name with the number of its report, once."""
    return name if name.endswith(f" {number}") else f"{name}, report {number}"


def answer(snapshot: Snapshot, trades: tuple[TradeView, ...]) -> dict:
    """Ready or not, in words: how many things, for whom, and by when."""
    assessment = snapshot.assessment
    held = [item for trade in trades for item in trade.items]
    due = sorted(item.due_on for item in held if item.due_on)
    sentences = []
    treated = snapshot.content.get("treated_on")
    if treated:
        found = counted(len(held), "thing") + " to fix" if held else "nothing to fix"
        sentences.append(f"Treated on {wording.day(treated)}. Found since: {found}.")
    elif held:
        verb = "holds" if len(held) == 1 else "hold"
        sentences.append(f"{counted(len(held), 'thing')} {verb} the booking.")
    if held:
        if due and due[0] == due[-1]:
            sentences.append(f"Fix {'it' if len(held) == 1 else 'all'} by {wording.day(due[0])}.")
        elif due:
            sentences.append(
                f"The first is due on {wording.day(due[0])}, the last on {wording.day(due[-1])}."
            )
    elif assessment.site_status == Readiness.READY:
        sentences.append("Nothing found holds the booking. The builder can confirm readiness.")
    others = len(snapshot.other_reasons())
    if others and not treated:
        more = "more " if held else ""
        stand = counted(others, f"{more}thing stands", f"{more}things stand")
        sentences.append(f"{stand} in the way.")
    if asked := _walls_with_level_questions(snapshot):
        sentences.append(
            f"By the levels something is not right on {asked}, and no item says so: see Walls."
        )
    return {
        "status": assessment.site_status,
        "symbol": SYMBOLS.get(assessment.site_status, "not-known"),
        "words": words(assessment.site_status),
        "sentence": " ".join(sentences),
    }


def _walls_with_level_questions(snapshot: Snapshot) -> str:
    """The walls whose levels fall short while nobody made that an item; a person decides."""
    letters = [
        snapshot.run_letters[run.run_id]
        for run in snapshot.assessment.runs
        if any(note.code.questions_levels for note in run.notes)
    ]
    return f"wall{'s' if len(letters) > 1 else ''} {listed(letters)}" if letters else ""


def _facts(snapshot: Snapshot) -> list[tuple[str, str]]:
    """What stands at the head of the report, as label and value; empty values are left out."""
    content = snapshot.content
    before = content["supersedes"]
    pairs = [
        ("Visited", wording.day(content["visited_on"])),
        ("Report issued", wording.when(content["issued_at"], snapshot.zone)),
        *people(content),
        ("Treatment wanted on", wording.day(content["treatment_wanted_on"])),
        ("Weather", content["weather"]),
        ("House type", content["site"]["house_type"]),
        ("Takes the place of", f"report {before}" if before else ""),
        ("Walls", _walls_words(snapshot)),
    ]
    return [pair for pair in pairs if pair[1]]


def _walls_words(snapshot: Snapshot) -> str:
    runs = snapshot.facts.runs
    total = metres(sum(run.length_mm for run in runs))
    return f"{counted(len(runs), 'wall run')}, {total} in all"


def _walls(snapshot: Snapshot) -> tuple[WallView, ...]:
    checks = {check["run"]: check for check in snapshot.content["checks"]}
    items = snapshot.items(PHOTO)
    return tuple(
        _wall(snapshot, run, checks.get(run.id), tuple(i for i in items if i.run_id == run.id))
        for run in snapshot.facts.runs
    )


def _wall(snapshot: Snapshot, run, check: dict | None, items: tuple[ItemView, ...]) -> WallView:
    assessed = snapshot.assessment.run(run.id)
    notes = tuple(PAPER.sentence(note) for note in assessed.notes if note.code not in PAPER.never)
    codes = {note.code for note in assessed.notes}
    values = snapshot.facts.values
    line = None if Code.LEVELS_UNBELIEVABLE in codes else solve(run, values)
    return WallView(
        letter=snapshot.run_letters[run.id],
        label=run.label,
        finish=finish_words(run),
        length=run_length(run),
        status=wall_words(snapshot.facts)[assessed.status],
        sentence=_line_words(line) if line and line.segments else "",
        drawing=figures.elevation(run, values, items, key=False) if line else "",
        notes=notes,
        items=items,
        checked=_checked(snapshot, check),
        check_note=check["note"] if check else "",
        found_right=bool(check and not items and not any(c.questions_levels for c in codes)),
    )


def _line_words(line: TreatmentLine) -> str:
    """Where the treatment ends, and how sure its gauge is; the chapter says what goes for all."""
    return " ".join([line_sentence(line), *(gauge_doubts(line.gauge) if line.gauge else ())])


def _checked(snapshot: Snapshot, check: dict | None) -> str:
    if check is None:
        return ""
    by = check["checked_by"]
    said = wording.when(check["checked_at"], snapshot.zone)
    return f"{said}, by {by['name']}" if by else said


def _cleaning(snapshot: Snapshot, trades: tuple[TradeView, ...]) -> str:
    """What it would cost if the applicator had to put everything right: an estimate."""
    business = snapshot.content["business"]
    kinds = [item.kind for trade in trades for item in trade.items]
    cost = cleaning_cost(kinds, snapshot.facts.values)
    if not cost.minutes:
        return ""
    hours = f"{cost.minutes / 60:.1f}".rstrip("0").rstrip(".")
    money = f"{business['currency']} {cost.cents / 100:,.2f}"
    return (
        f"If the applicator had to put right what holds the booking: about {hours} h, {money}. "
        "An estimate, not a quote; work of other trades may not be the applicator's to do."
    )
