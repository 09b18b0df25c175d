"""The site report: page one answers, the later pages show why. All of it from one assessment."""

from collections.abc import Mapping
from dataclasses import dataclass

from readiness.models import Paper
from readiness.papers import data, figures, referrals, wording
from readiness.papers.pdf import Draft
from readiness.papers.pictures import Frame
from readiness.papers.report_draft import report_draft
from readiness.papers.views import (
    ItemView,
    Snapshot,
    TradeView,
    cautions_of,
    finish_words,
    letterhead,
    people,
    person,
    run_length,
)
from readiness.rules.band.levels import WallBand, bands_of
from readiness.rules.band.quantities import cleaning_cost, site_quantities
from readiness.rules.site.assessment import Reason
from readiness.rules.vocabulary import Effect, Readiness
from readiness.rules.words import metres
from readiness.wording.band import notes as band_notes
from readiness.wording.levels import line_sentence
from readiness.wording.local_rules import for_papers
from readiness.wording.paper import parts
from readiness.wording.paper import referrals as say_referrals
from readiness.wording.paper import report as say
from readiness.wording.paper.reasons import PAPER
from readiness.wording.quantities import working
from readiness.wording.referrals import technician, to_call
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
    barred: str
    is_asked: bool
    check_note: str
    found_right: bool

    @property
    def brief(self) -> str:
        """Name, finish, length and state in one line."""
        return parts.wall_brief(self.label, self.finish, self.length, self.status)

    @property
    def summary(self) -> str:
        """The same, with the items."""
        if not self.items:
            return self.brief
        return f"{self.brief} · {parts.item_numbers([item.number for item in self.items])}"


def draft(paper: Paper) -> Draft:
    """The site report of the paper's issued report."""
    return build(Snapshot.of(paper.report, paper))


def build(snapshot: Snapshot) -> Draft:
    content = snapshot.content
    title = say.name(snapshot.number)
    trades = snapshot.trades(PHOTO)
    small = snapshot.items(PHOTO, Effect.ON_THE_DAY)
    walls = _walls(snapshot)
    found = site_quantities(snapshot.facts.walls, snapshot.facts.values)
    termites = referrals.finds(snapshot, PHOTO)
    limits = referrals.limits(content["referrals"], snapshot.run_letters, snapshot.zone)
    context = {
        **head(snapshot, title),
        **about_termites(snapshot),
        "termites": termites,
        "limits": limits,
        "answer": answer(snapshot, trades),
        "trades": trades,
        "other_reasons": [PAPER.sentence(reason) for reason in _other_reasons(snapshot)],
        "small": small,
        "small_cautions": cautions_of(small),
        "recorded": snapshot.items(PHOTO, Effect.RECORD),
        "with_photos": any(item.photos for item in snapshot.items(PHOTO)),
        "plan": figures.plan(
            snapshot,
            snapshot.items(PHOTO),
            most_height=MOST_PLAN_HEIGHT[content["business"]["paper_size"]],
        ),
        "walls": walls,
        "once": [PAPER.sentence(note) for note in snapshot.assessment.notes if not note.run_id],
        "walls_beside_plan": WALLS_BESIDE_PLAN,
        "right": [wall for wall in walls if wall.found_right],
        "facts": _facts(snapshot),
        "introduction": content["business"]["report_introduction"],
        "notes": content["notes"],
        "local_notes": for_papers(snapshot.site["state"]),
        "quantities": working(found, snapshot.facts.values),
        "cleaning": _cleaning(snapshot, trades),
        "own_rates": say.own_rates(),
        "prepared_by": person(content["prepared_by"] or content["issued_by"]),
        "product": content["business"]["product_name"],
    }
    return report_draft(
        "site_report",
        snapshot,
        title,
        context,
        description=say.description(),
        report_sha256=snapshot.digest,
        answer={"words": context["answer"]["words"], "sentence": context["answer"]["sentence"]},
        live_termites=[referrals.find_data(find) for find in termites],
        to_call=context["technician"],
        limits=limits.sentences,
        limits_mean=limits.meaning,
        reasons=context["other_reasons"],
        facts=[{"what": label, "value": value} for label, value in context["facts"]],
        introduction=context["introduction"],
        notes=context["notes"],
        local_notes=context["local_notes"],
        to_fix=[
            data.whole_item(item, trade=True) for trade in trades for item in trade.items
        ],
        applicator_will_do=[data.whole_item(item) for item in small],
        record_only=[data.whole_item(item, fix=False) for item in context["recorded"]],
        walls=[_wall_data(wall) for wall in walls],
        quantities=[
            data.told(
                what=step.what, result=step.result, working=step.working, source=step.source
            )
            for step in context["quantities"].steps
        ],
        quantity_notes=context["quantities"].notes,
        if_the_applicator_did_it=context["cleaning"],
    )  # fmt: skip


def about_termites(snapshot: Snapshot) -> dict:
    """Whether live termites keep the site closed, and whom to call about them."""
    business = snapshot.content["business"]
    is_open = snapshot.facts.are_termites_open
    who = to_call(
        technician(business.get("technician_name", "")), business.get("technician_phone", "")
    )
    return {
        "termites_open": is_open,
        "technician": say_referrals.to_call(who) if is_open else "",
    }


def _other_reasons(snapshot: Snapshot) -> list[Reason]:
    """What stands in the way beside items; live termites are said in the answer."""
    return [one for one in snapshot.other_reasons() if not one.code.is_about_termites]


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
        out_of_reach=wall.barred,
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
    return name if name.endswith(f" {number}") else parts.with_report(name, number)


def answer(snapshot: Snapshot, trades: tuple[TradeView, ...]) -> dict:
    """Ready or not, in words: how many things, for whom, and by when."""
    assessment = snapshot.assessment
    held = [item for trade in trades for item in trade.items]
    due = sorted(item.due_on for item in held if item.due_on)
    reasons = assessment.reasons
    sentences = [PAPER.sentence(one) for one in reasons if one.code.is_about_termites]
    treated = snapshot.content.get("treated_on")
    if treated:
        sentences.append(say.treated(wording.day(treated), len(held)))
    elif held:
        sentences.append(say.held(len(held)))
    if due and due[0] == due[-1]:
        sentences.append(say.all_due(len(held), wording.day(due[0])))
    elif due:
        sentences.append(say.first_and_last_due(wording.day(due[0]), wording.day(due[-1])))
    if not held and assessment.site_status == Readiness.READY:
        sentences.append(say.can_confirm())
    others = len(_other_reasons(snapshot))
    if others and not treated:
        sentences.append(say.others_block(others, is_more=bool(held)))
    if asked := _walls_with_level_questions(snapshot):
        sentences.append(say.levels_ask(asked))
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
    return parts.named_walls(letters) if letters else ""


def _facts(snapshot: Snapshot) -> list[tuple[str, str]]:
    """What stands at the head of the report, as label and value; empty values are left out."""
    content = snapshot.content
    before = content["supersedes"]
    of_report = {
        "visited": wording.day(content["visited_on"]),
        "issued": wording.when(content["issued_at"], snapshot.zone),
    }
    of_site = {
        "wanted": wording.day(content["treatment_wanted_on"]),
        "weather": content["weather"],
        "house_type": content["site"]["house_type"],
        "replaces": say.earlier_report(before) if before else "",
        "walls": _walls_words(snapshot),
    }
    return [
        *parts.labelled(say.LABELS, of_report),
        *people(content),
        *parts.labelled(say.LABELS, of_site),
    ]


def _walls_words(snapshot: Snapshot) -> str:
    runs = snapshot.facts.runs
    return say.walls_in_all(len(runs), metres(sum(run.length_mm for run in runs)))


def _walls(snapshot: Snapshot) -> tuple[WallView, ...]:
    checks = {check["run"]: check for check in snapshot.content["checks"]}
    items, facts = snapshot.items(PHOTO), snapshot.facts
    bands = bands_of(facts.walls, facts.values)
    return tuple(
        _wall(
            snapshot, run, bands[run.id], checks.get(run.id),
            tuple(item for item in items if item.run_id == run.id),
        )
        for run in facts.walls
    )  # fmt: skip


def _wall(
    snapshot: Snapshot,
    run,
    band: WallBand | None,
    check: dict | None,
    items: tuple[ItemView, ...],
) -> WallView:
    assessed = snapshot.assessment.run(run.id)
    notes = tuple(PAPER.sentence(note) for note in assessed.notes if note.code not in PAPER.never)
    codes = {note.code for note in assessed.notes}
    band = band if run.reachable_mm else None
    return WallView(
        letter=snapshot.run_letters[run.id],
        label=run.label,
        finish=finish_words(run),
        length=run_length(run),
        status=wall_words(snapshot.facts)[assessed.status],
        sentence=_band_words(band) if band and band.segments else "",
        drawing=_drawing(snapshot, run, items) if band else "",
        notes=notes,
        items=items,
        checked=_checked(snapshot, check),
        barred=say_referrals.see_limits(part=bool(run.reachable_mm)) if run.out_of_reach else "",
        is_asked=bool(run.reachable_mm),
        check_note=check["note"] if check else "",
        found_right=bool(
            check
            and not items
            and not run.out_of_reach
            and not any(code.questions_levels for code in codes)
        ),
    )


def _drawing(snapshot: Snapshot, run, items: tuple[ItemView, ...]) -> str:
    facts = snapshot.facts
    return figures.elevation(run, facts.values, items, runs=facts.walls, key=False)


def _band_words(band: WallBand) -> str:
    """Where the treatment ends and how deep it goes, and what nobody measured of it."""
    return " ".join([line_sentence(band), *band_notes(band)])


def _checked(snapshot: Snapshot, check: dict | None) -> str:
    if check is None:
        return ""
    by = check["checked_by"]
    said = wording.when(check["checked_at"], snapshot.zone)
    return say.checked(said, by["name"]) if by else said


def _cleaning(snapshot: Snapshot, trades: tuple[TradeView, ...]) -> str:
    """What it would take if the applicator had to put everything right: an estimate.

    In hours alone: beside a sum of money they would tell the builder the business's rate.
    """
    kinds = [item.kind for trade in trades for item in trade.items]
    cost = cleaning_cost(kinds, snapshot.facts.values)
    if not cost.minutes:
        return ""
    hours = f"{cost.minutes / 60:.1f}".rstrip("0").rstrip(".")
    return say.if_we_did_it(hours)
