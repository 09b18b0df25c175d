"""What a site's page and a list of sites say to the applicator: one sentence, one next step."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from django.urls import reverse

from readiness.facts import SiteState
from readiness.models import Booking, Site, SiteReport
from readiness.rules.site.due_words import left_to_fix
from readiness.rules.words import counted, listed
from readiness.wording import dates

HOLDS, WAITS, READY, QUIET = "holds", "waits", "ready", ""
ON_US, ON_BUILDER, ON_NOBODY = "us", "builder", ""

TURNED_DOWN = "The builder turned down the day we offered."


@dataclass(frozen=True)
class Step:
    """The one next thing that the applicator can do."""

    label: str
    url: str


@dataclass(frozen=True)
class Saying:
    """One plain sentence about a site, how it should look, who acts next, and our next step."""

    sentence: str
    tone: str = QUIET
    waits_on: str = ON_NOBODY
    step: Step | None = None


class SiteOverview:
    """A site as it stands, with its draft report."""

    def __init__(self, state: SiteState):
        self.state = state
        self.site = state.site
        self.draft: SiteReport | None = None
        self._saying: Saying | None = None

    @classmethod
    def of(cls, site: Site) -> SiteOverview:
        """The overview of one site."""
        return cls._of_states([SiteState.of(site)])[0]

    @classmethod
    def for_sites(cls, sites: Iterable[Site]) -> list[SiteOverview]:
        """The overviews of a page of sites, in a constant number of queries."""
        return cls._of_states(SiteState.for_list(sites))

    @classmethod
    def _of_states(cls, states: Iterable[SiteState]) -> list[SiteOverview]:
        found = {state.site.pk: cls(state) for state in states}
        for draft in SiteReport.objects.drafts().filter(site__in=found):
            found[draft.site_id].draft = draft
        return list(found.values())

    @property
    def today(self) -> date:
        """The date at the site."""
        return self.state.facts().today

    @property
    def last_visit(self) -> Booking | None:
        """The latest visit that took place."""
        return self.state.last_visit

    @property
    def is_treated(self) -> bool:
        return self.state.facts().is_treated

    @property
    def is_over(self) -> bool:
        """Treated or put away: what would be in the way of a treatment matters no more."""
        return self.site.closed_at is not None or self.is_treated

    @property
    def saying(self) -> Saying:
        """The sentence and the next step; worked out once."""
        if self._saying is None:
            self._saying = _say(self)
        return self._saying

    def url(self, name: str) -> str:
        return reverse(f"office:{name}", args=[self.site.pk])


def half_day(booking: Booking, today: date) -> str:
    """The day of a booking: "today in the morning", "Thursday 12 March in the afternoon"."""
    ahead = (booking.day - today).days
    near = {0: "today", 1: "tomorrow", -1: "yesterday"}
    day = near.get(ahead) or dates.long_day(booking.day)
    return f"{day} in the {booking.half}"


def _say(overview: SiteOverview) -> Saying:
    ways = (_put_away, _booked, _unprepared, _drafted, _treated, _to_review, _turned_away, _asked)
    for find in ways:
        saying = find(overview)
        if saying:
            return saying
    return _with_builder(overview)


def _put_away(overview: SiteOverview) -> Saying | None:
    if overview.site.closed_at is None:
        return None
    return Saying("Finished and put away.")


def _booked(overview: SiteOverview) -> Saying | None:
    booking = overview.state.booking
    if booking is None or booking.state != Booking.State.CONFIRMED:
        return None
    when = half_day(booking, overview.today)
    page = overview.url("booking")
    if booking.day < overview.today:
        text = f"Booked for {when}. Nothing is written down about that day yet."
        return Saying(text, WAITS, ON_US, Step("Write down the visit", page))
    reasons = overview.state.assessment.booking_reasons
    if reasons:
        text = f"Booked for {when}, but {counted(len(reasons), 'thing')} in the way."
        return Saying(text, HOLDS, ON_BUILDER, _review_step(overview) or Step("See why", page))
    label = "Write down the visit" if booking.day == overview.today else "Open the booking"
    return Saying(f"Booked for {when}.", READY, ON_US, Step(label, page))


def _unprepared(overview: SiteOverview) -> Saying | None:
    if overview.state.runs:
        return None
    return Saying(
        "No walls entered yet.", WAITS, ON_US, Step("Enter the walls", overview.url("walls"))
    )


def _drafted(overview: SiteOverview) -> Saying | None:
    if overview.draft is None:
        return None
    page = reverse("office:report", args=[overview.draft.pk])
    step = Step("Carry on with the report", page)
    return Saying("A draft report waits to be issued.", WAITS, ON_US, step)


def _treated(overview: SiteOverview) -> Saying | None:
    """It stays treated, whatever a later report found."""
    if not overview.is_treated:
        return None
    treated = f"Treated on {dates.long_day(overview.last_visit.day)}."
    to_review = _to_review(overview) if overview.state.report else None
    if to_review:
        return Saying(f"{treated} {to_review.sentence}", WAITS, ON_US, to_review.step)
    left = _left(overview)
    if left:
        return Saying(f"{treated} Found since: {left}.", WAITS, ON_BUILDER)
    return Saying(treated, READY)


def _turned_away(overview: SiteOverview) -> Saying | None:
    visit = overview.state.facts().turned_away
    if visit is None:
        return None
    left = _left(overview)
    todo = f"{_capital(left)}." if left else "The builder has to confirm readiness again."
    return Saying(f"Turned away on {dates.long_day(visit.day)}. {todo}", HOLDS, ON_BUILDER)


def _left(overview: SiteOverview) -> str:
    return left_to_fix(overview.state.facts(), overview.state.assessment)


def _to_review(overview: SiteOverview) -> Saying | None:
    if overview.state.report is None:
        step = Step("Start the report", overview.url("report_start"))
        return Saying("Not looked at yet.", WAITS, ON_US, step)
    step = _review_step(overview)
    if step is None:
        return None
    fixes, disagreed = _review_counts(overview)
    parts = [counted(fixes, "fix", "fixes") + " to review"] if fixes else []
    if disagreed:
        parts.append(f"{counted(disagreed, 'disagreement')} to decide")
    return Saying(f"{listed(parts)}.", WAITS, ON_US, step)


def _review_counts(overview: SiteOverview) -> tuple[int, int]:
    disagreed = sum(item.is_disputed for item in overview.state.items)
    fixes = sum(
        item.state == "said_fixed" and not item.is_disputed for item in overview.state.items
    )
    return fixes, disagreed


def _review_step(overview: SiteOverview) -> Step | None:
    fixes, disagreed = _review_counts(overview)
    if not fixes and not disagreed:
        return None
    return Step("Review" if fixes else "Decide", overview.url("review"))


def _asked(overview: SiteOverview) -> Saying | None:
    booking, assessment = overview.state.booking, overview.state.assessment
    step = Step("Offer a day", overview.url("booking"))
    if booking and booking.state == Booking.State.ASKED:
        asks = "The builder asks for a day." if booking.was_asked else TURNED_DOWN
        return Saying(f"{asks} {_short(overview)}".strip(), WAITS, ON_US, step)
    if booking is None and assessment.can_book:
        return Saying("Confirmed ready. Offer a day.", READY, ON_US, step)
    return None


def _short(overview: SiteOverview) -> str:
    """How far the site is, in a few words, behind another sentence."""
    if overview.state.assessment.can_book:
        return "Confirmed ready."
    left = _to_fix(overview)
    return f"{counted(left, 'thing')} still to fix." if left else "Not confirmed ready yet."


def _to_fix(overview: SiteOverview) -> int:
    codes = Counter(reason.code for reason in overview.state.assessment.confirm_reasons)
    return codes["item_to_fix"] + codes["item_sent_back"]


def _with_builder(overview: SiteOverview) -> Saying:
    assessment, booking = overview.state.assessment, overview.state.booking
    offered, passed = "", overview.state.facts().offer_has_passed
    if booking and booking.state == Booking.State.OFFERED:
        how = "was offered, and has passed." if passed else "is offered."
        offered = f"{_capital(half_day(booking, overview.today))} {how}"
    left = _left(overview)
    if left:
        return Saying(f"{_capital(left)}. {offered}".strip(), HOLDS, ON_BUILDER)
    if assessment.confirm_reasons:
        reason = assessment.confirm_reasons[0]
        on_us = reason.who == "applicator"
        step = Step("Start a report", overview.url("report_start")) if on_us else None
        return Saying(reason.sentence, WAITS, ON_US if on_us else ON_BUILDER, step)
    if passed:
        step = Step("Offer another day", overview.url("booking"))
        return Saying(offered, WAITS, ON_US, step)
    if offered:
        return Saying(f"{offered} The builder has to accept it.", WAITS, ON_BUILDER)
    return Saying("Ready. The builder has to confirm it.", READY, ON_BUILDER)


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
