"""What a builder reads about a site: one plain sentence and the one next step. Pure functions.

The sentence is worked out from the same facts and assessment as readiness itself, so it can't say
anything else than the reasons do.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date

from readiness.rules.defects.catalogue import TRADES
from readiness.rules.site.assessment import (
    Assessment,
    BookingFacts,
    SiteFacts,
    VisitFacts,
)
from readiness.rules.site.due_words import TO_DO, left_to_fix
from readiness.rules.words import counted, listed, quoted
from readiness.wording import dates

HOLDS, WAITS, READY = "holds", "waits", "ready"

TRADE_WORDS = {
    "builder": "you",
    "earthworks": "earthworks",
    "paving": "paving",
    "sealing": "sealing",
    "cleaner": "the cleaner",
}
"""How a trade reads after "for", where "the" and its name does not do."""


@dataclass(frozen=True)
class NextStep:
    """The one thing to do next: a button's words, the page's URL name, and a place on that page."""

    label: str
    page: str
    place: str = ""


@dataclass(frozen=True)
class Saying:
    """One sentence about a site. `tone` is "holds", "waits", "ready" or "".

    `step` is what the builder does next; `needs_builder` is False where they can only wait.
    """

    sentence: str
    tone: str = ""
    step: NextStep | None = None
    needs_builder: bool = False


LOOK = NextStep("Open the site", "builder:site")
FIX = NextStep("See what to fix", "builder:site", "#fixes")
CONFIRM = NextStep("Confirm that it is ready", "builder:confirm")
ASK = NextStep("Ask for a day", "builder:book")
ANSWER = NextStep("Answer the offer", "builder:book")
BOOKED = NextStep("See the booking", "builder:book")


def say(facts: SiteFacts, assessment: Assessment, closed: bool = False) -> Saying:
    """The sentence and next step of one site for its builder."""
    if closed:
        return Saying("This site is finished and put away.", step=LOOK)
    booking, away = facts.booking, facts.turned_away
    if booking and booking.state == "confirmed":
        return _booked(facts, assessment)
    if facts.is_treated:
        return _treated(facts, assessment)
    if away and not facts.is_issued_after(away.closed_at):
        return _turned_away(away, assessment)
    first = (
        _to_fix(facts, assessment)
        or _being_looked_at(facts, assessment)
        or _drying(facts, assessment)
    )
    if first and away:
        return replace(first, sentence=f"{first.sentence} {_came(away)}.")
    return (
        first
        or (_turned_away(away, assessment) if away else None)
        or _confirmed(facts, assessment)
        or _to_confirm(facts, assessment)
    )


# Booked, treated, turned away


def _booked(facts: SiteFacts, assessment: Assessment) -> Saying:
    when = half_day_words(facts.booking, facts.today)
    if facts.booking.treat_on < facts.today:
        text = f"Booked for {when}. We have not written down yet how it went."
        return Saying(text, WAITS, BOOKED)
    reasons = assessment.booking_reasons
    if not reasons:
        return Saying(f"Booked for {when}.", READY, BOOKED)
    to_do = [reason for reason in reasons if reason.code in TO_DO]
    if to_do:
        text = f"Booked for {when}, but {counted(len(to_do), 'thing')} still to fix."
        return Saying(text, HOLDS, FIX, needs_builder=True)
    if assessment.can_confirm:
        text = f"Booked for {when}, but the readiness confirmation is no longer in force."
        return Saying(text, HOLDS, CONFIRM, needs_builder=True)
    return Saying(f"Booked for {when}. {to_builder(reasons[0].sentence)}", WAITS, BOOKED)


def _treated(facts: SiteFacts, assessment: Assessment) -> Saying:
    """It stays treated; what a later report found is still to fix."""
    treated = f"Treated on {dates.long_day(facts.last_visit.day)}."
    left = left_to_fix(facts, assessment)
    if left:
        return Saying(f"{treated} Found since: {left}.", WAITS, FIX, needs_builder=True)
    looked_at = _looked_at(assessment)
    if looked_at:
        return Saying(f"{treated} {looked_at}", WAITS, LOOK)
    return Saying(treated, READY, LOOK)


def _turned_away(visit: VisitFacts, assessment: Assessment) -> Saying:
    why = f": {quoted(visit.note)}" if visit.note else "."
    text = f"{_came(visit)}{why} Fix this, confirm again, then choose a new day."
    to_do = any(reason.code in TO_DO for reason in assessment.reasons)
    step = FIX if to_do else (CONFIRM if assessment.can_confirm else LOOK)
    return Saying(text, HOLDS, step, needs_builder=step is not LOOK)


def _came(visit: VisitFacts) -> str:
    return f"We came on {dates.long_day(visit.day)} and could not treat the site"


# Things to fix


def _to_fix(facts: SiteFacts, assessment: Assessment) -> Saying | None:
    todo = [reason for reason in assessment.confirm_reasons if reason.code in TO_DO]
    if not todo:
        return None
    left, trades = left_to_fix(facts, assessment), trade_words(reason.who for reason in todo)
    text = f"{left}."
    if trades:  # of several counts, the trades are no further one
        text = f"{left}. {_capital(trades)}." if ", " in left else f"{left}, {trades}."
    if facts.offer_has_passed:
        text += f" {_offer(facts)}"
    elif facts.booking and facts.booking.state == "offered":
        when = half_day_words(facts.booking, facts.today)
        text += f" We are holding {when}, if {'this is' if len(todo) == 1 else 'these are'} done."
    return Saying(_capital(text), HOLDS, FIX, needs_builder=True)


def trade_words(trades: Iterable[str]) -> str:
    """ "2 for the bricklayer": both of two trades, else the one with most.

    "" where all is the builder's own; "for 3 trades" where each of several has one.
    """
    counts = Counter(trades).most_common()
    if len(counts) == 1:
        trade, count = counts[0]
        if trade == "builder":
            return ""
        whole = {1: "", 2: "both "}.get(count, "all ")
        return f"{whole}for {_trade(trade)}"
    if len(counts) > 2 and counts[0][1] == 1:
        return f"for {len(counts)} trades"
    named = counts[:2] if len(counts) == 2 else counts[:1]
    return listed(f"{count} for {_trade(trade)}" for trade, count in named)


def _trade(slug: str) -> str:
    return TRADE_WORDS.get(slug) or f"the {TRADES[slug].lower()}"


# Waiting


def _being_looked_at(facts: SiteFacts, assessment: Assessment) -> Saying | None:
    looked_at = _looked_at(assessment)
    if looked_at:
        return Saying(looked_at, WAITS, LOOK)
    codes = Counter(reason.code for reason in assessment.confirm_reasons)
    if not any(reason.missing for reason in assessment.confirm_reasons):
        return None
    if codes["run_unchecked"]:
        labels = [r.run_label for r in assessment.confirm_reasons if r.code == "run_unchecked"]
        return Saying(f"We still have to look at {listed(labels)}.", WAITS, LOOK)
    asked = facts.booking is not None and facts.booking.state == "asked"
    before = f"{_asked(facts.booking)}. " if asked else ""
    return Saying(f"{before}We have not reported on this site yet.", WAITS, LOOK)


def _looked_at(assessment: Assessment) -> str:
    """What waits for us, "" for nothing."""
    codes = Counter(reason.code for reason in assessment.confirm_reasons)
    fixes, disputed = codes["waiting_for_review"], codes["item_disputed"]
    parts = []
    if fixes:
        parts.append(counted(fixes, "fix", "fixes"))
    if disputed:
        parts.append(f"{counted(disputed, 'thing')} that you disagree with")
    return f"We are looking at {listed(parts)}." if parts else ""


def _drying(facts: SiteFacts, assessment: Assessment) -> Saying | None:
    ends = [reason.until for reason in assessment.confirm_reasons if reason.until]
    if not ends:
        return None
    until = max(ends).astimezone(facts.local_zone)
    return Saying(
        f"Drying until {dates.time_of_day(until)} on {dates.long_day(until)}.", WAITS, LOOK
    )


# Confirming and booking


def _confirmed(facts: SiteFacts, assessment: Assessment) -> Saying | None:
    if not assessment.confirmation_in_force:
        return None
    booking = facts.booking
    if facts.offer_has_passed:
        return Saying(f"{_offer(facts)} Ask for another.", WAITS, ASK, needs_builder=True)
    if booking and booking.state == "offered":
        if assessment.can_book:
            return Saying(_offer(facts), READY, ANSWER, needs_builder=True)
        why = to_builder(assessment.booking_reasons[0].sentence)
        return Saying(f"{_offer(facts)} {why}", HOLDS, ANSWER, needs_builder=True)
    if booking and booking.state == "asked":
        which = "one" if booking.was_asked else "another"
        text = f"Confirmed ready. {_asked(booking)} and we will offer {which}."
        return Saying(text, WAITS, BOOKED)
    until = facts.confirmation.valid_until
    lasts = f" until {dates.long_day(until.astimezone(facts.local_zone))}" if until else ""
    return Saying(f"Confirmed ready{lasts}: ask for a day.", READY, ASK, needs_builder=True)


def _asked(booking: BookingFacts) -> str:
    """How it came that a day is still to be offered."""
    return "You asked for a day" if booking.was_asked else "You turned down the day we offered"


def _to_confirm(facts: SiteFacts, assessment: Assessment) -> Saying:
    if assessment.confirm_reasons:
        return Saying(assessment.confirm_reasons[0].sentence, HOLDS, LOOK, needs_builder=True)
    text = "Ready to confirm."
    lapsed = [r for r in assessment.booking_reasons if r.code.startswith("confirmation_")]
    if lapsed:
        text = f"Ready to confirm again. {to_builder(lapsed[0].sentence)}"
    elif facts.booking and facts.booking.state == "offered":
        text += f" {_offer(facts)}"
    return Saying(text, READY, CONFIRM, needs_builder=True)


def _offer(facts: SiteFacts) -> str:
    when = _capital(half_day_words(facts.booking, facts.today))
    return (
        f"{when} was offered, and has passed." if facts.offer_has_passed else f"{when} is offered."
    )


def to_builder(sentence: str) -> str:
    """A reason as it reads to the builder themselves."""
    for theirs, yours in TO_THE_BUILDER.items():
        sentence = sentence.replace(theirs, yours)
    return sentence


TO_THE_BUILDER = {
    "The builder has not confirmed readiness yet.": "You have not confirmed readiness yet.",
    " The builder has to confirm again.": "",
    "the builder disagrees, and we have to decide": "you disagree, and we have to decide",
}


# Days as people say them


def half_day_words(booking: BookingFacts, today: date) -> str:
    """ "Thursday morning" within the coming week, else "Thursday 12 March in the morning"."""
    half = "morning" if booking.treat_at is None or booking.treat_at.hour < 12 else "afternoon"
    day = booking.treat_on
    if 0 <= (day - today).days < 7:
        return f"{day:%A} {half}"
    return f"{dates.long_day(day)} in the {half}"


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
