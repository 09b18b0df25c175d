"""Tells what happens on one site, through the same actions that the portal's pages call."""

from __future__ import annotations

import io
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import Any

from django.conf import settings

from readiness import clock
from readiness.actions import referrals
from readiness.actions.fixing import fixes
from readiness.actions.photos import keeping
from readiness.actions.reporting import drafts, issuing
from readiness.actions.sites import sites
from readiness.actions.task_loop import until_none_waits
from readiness.actions.visits import booking, confirming, putting_off
from readiness.actions.visits.proof import Method, Proof
from readiness.demo.album import Shot, photo_file
from readiness.demo.dates import SiteDates
from readiness.demo.houses import House
from readiness.models import (
    Booking,
    Builder,
    DefectItem,
    Photo,
    ReadinessConfirmation,
    Referral,
    Site,
    SiteReport,
    User,
    WallRun,
)
from readiness.rules.vocabulary import NoAccess, Outcome


@dataclass(frozen=True)
class Found:
    """One thing that is wrong on a wall, and the photo of it."""

    kind: str
    wall: str
    from_mm: int
    to_mm: int | None = None
    measured: int | None = None
    note: str = ""
    effect: str | None = None
    size: str = "small"
    photographed: bool = True
    closer: bool = False
    """A photo of the tape alone comes first, where the whole thing is too long to read it."""


@dataclass(frozen=True)
class Lot:
    """A site before anything happens on it. Position in degrees: far from any house."""

    street: str
    suburb: str
    state: str
    postcode: str
    job_number: str
    latitude: str
    longitude: str
    house: House
    access_notes: str = ""

    def shot(self, of: str, size: str = "small", ending: str = "") -> Shot:
        return Shot(f"{self.job_number.lower()}-{of}{ending}", size)


class SiteSteps:
    """One site's story so far. Times are given as working days from today and a clock time."""

    def __init__(self, lot: Lot, *, builder: Builder, staff: User, contact: User, now: datetime):
        self.lot, self.builder, self.staff, self.contact = lot, builder, staff, contact
        self.dates = SiteDates(lot.state, now)
        self.site: Site
        self.runs: dict[str, WallRun] = {}
        self.items: dict[str, DefectItem] = {}
        self.found: dict[str, Found] = {}
        self.told = 0

    def enter_site(self, when: datetime, *, wanted: date | None, levels: dict[str, dict]) -> Site:
        """The applicator enters the lot, its walls and what was measured on them."""
        lot = self.lot
        with clock.at(when):
            self.site = sites.add_site(
                self.staff,
                self.builder,
                notify=[self.contact.memberships.get()],
                street=lot.street,
                suburb=lot.suburb,
                state=lot.state,
                postcode=lot.postcode,
                job_number=lot.job_number,
                house_type=lot.house.name,
                access_notes=lot.access_notes,
                treatment_wanted_on=wanted,
                latitude=Decimal(lot.latitude),
                longitude=Decimal(lot.longitude),
            )
            entries = [
                sites.RunEntry(wall.label, wall.length_mm, wall.finish, wall.turn)
                for wall in lot.house.walls
            ]
            self.runs = {
                run.label: run for run in sites.set_wall_runs(self.staff, self.site, entries)
            }
        with clock.at(min(when + timedelta(minutes=25), self.dates.now)):
            for label, level in levels.items():
                sites.set_levels(self.staff, self.runs[label], level)
        return self.site

    def photo(self, who: User, shot: Shot, when: datetime, **odd) -> Photo:
        """One photo, taken a little before it is sent; `odd` changes what its camera says."""
        self.told += 1
        taken: dict[str, Any] = {
            "taken_at": when - timedelta(minutes=2, seconds=self.told % 40),
            "offset": self.dates.offset_at(when),
            "position": self._near_site(),
        } | odd
        data = photo_file(shot, **taken)
        name = f"wall-{self.lot.job_number.lower()}-{self.told:03d}.jpg"
        with clock.at(when):
            return keeping.add_photo(who, self.site, io.BytesIO(data), filename=name)

    def _near_site(self) -> tuple[float, float]:
        """A few metres from the lot, as phones are."""
        off = (self.told * 37 % 11 - 5) * 1e-5
        return float(self.lot.latitude) + off, float(self.lot.longitude) - off

    def visit(
        self,
        when: datetime,
        found: Iterable[Found],
        *,
        unchecked: Iterable[str] = (),
        carry_over: Iterable[DefectItem] = (),
        wanted: date | None = None,
        weather: str = "Dry, light wind, 21 °C",
        notes: str = "",
    ) -> SiteReport:
        """Walk the perimeter: check the walls, write down what is found, with its photos."""
        unchecked = set(unchecked)
        with clock.at(when):
            report = drafts.start_report(
                self.staff,
                self.site,
                visited_on=when.astimezone(self.dates.zone).date(),
                treatment_wanted_on=wanted,
                weather=weather,
                notes=notes,
                carry_over=carry_over,
            )
        self.items = {item.kind: item for item in report.items.all()}
        for label, run in self.runs.items():
            for thing in found:
                if thing.wall == label:
                    when = self._later(when, 3)
                    self._write_down(report, thing, when)
            if label not in unchecked:
                with clock.at(when):
                    drafts.check_run(self.staff, report, run)
        return report

    def _later(self, when: datetime, minutes: int) -> datetime:
        return min(when + timedelta(minutes=minutes), self.dates.now)

    def _write_down(self, report: SiteReport, thing: Found, when: datetime) -> None:
        shown = []
        if thing.closer:  # photos stand in the order in which they came
            shot = self.lot.shot(thing.kind, thing.size, "-tape")
            shown.append(self.photo(self.staff, shot, when - timedelta(seconds=20)))
        if thing.photographed:
            shot = self.lot.shot(thing.kind, thing.size)
            shown.append(self.photo(self.staff, shot, when))
        given: dict[str, Any] = {"from_mm": thing.from_mm, "to_mm": thing.to_mm, "note": thing.note}
        if thing.measured is not None:
            given |= {"measured_value": thing.measured, "measured_from": "tape"}
        if thing.effect:
            given["effect"] = thing.effect
        if thing.kind == "other":
            given["required_fix"] = thing.note
        with clock.at(when):
            self.items[thing.kind] = drafts.add_item(
                self.staff,
                report,
                kind=thing.kind,
                wall_run=self.runs[thing.wall],
                photos=shown,
                **given,
            )
        self.found[thing.kind] = thing

    def termites(self, when: datetime, wall: str, from_mm: int, note: str) -> Referral:
        """Signs of live termites: a technician has to decide before anything goes on."""
        photo = self.photo(self.staff, self.lot.shot("live_termites"), when)
        find = {"wall_run": self.runs[wall], "from_mm": from_mm, "note": note, "photos": [photo]}
        return self.done(when, referrals.note_live_termites, self.staff, self.site, **find)

    def out_of_reach(self, when: datetime, wall: str, note: str, *, decided: str) -> None:
        """A wall behind the boundary fence: noted, and decided ten minutes later."""
        photo = self.photo(self.staff, self.lot.shot("no_access"), when)
        noted = {"cause": NoAccess.BOUNDARY, "note": note, "photos": [photo]}
        decision = {"outcome": Outcome.NOT_TREATED, "reason": decided}
        found = self.done(when, referrals.note_no_access, self.staff, self.runs[wall], **noted)
        later = self._later(when, 10)
        self.done(later, referrals.decide_referral, self.staff, found, **decision)

    def issue(self, when: datetime, report: SiteReport) -> SiteReport:
        """Issue the report to the site's contact, and let its papers and e-mails be made."""
        notify = [self.contact.memberships.get()]
        return self.done(when, issuing.issue_report, self.staff, report, notify=notify)

    def background(self, when: datetime) -> None:
        """Do what waits in the background, as of a minute later."""
        with clock.at(self._later(when, 1)):
            work_off()

    def fix(self, when: datetime, kind: str, note: str = "", *, washed_at=None, **odd) -> None:
        """The builder shows that a thing is fixed."""
        shot = self.lot.shot(kind, self.found[kind].size, "-fixed")
        photo = self.photo(self.contact, shot, when, **odd)
        with clock.at(when):
            fixes.report_fixed(
                self.contact, self.items[kind], photos=[photo], note=note, washed_at=washed_at
            )

    def done(self, when: datetime, action: Callable[..., Any], *about, **said) -> Any:
        """Do an action at its time, and then what it leaves to the background."""
        with clock.at(when):
            result = action(*about, **said)
        self.background(when)
        return result

    def accept(self, when: datetime, *kinds: str) -> None:
        self.done(when, fixes.accept_fixes, self.staff, [self.items[kind] for kind in kinds])

    def send_back(self, when: datetime, kind: str, reason: str) -> None:
        self.done(when, fixes.send_back, self.staff, self.items[kind], reason=reason)

    def disagree(self, when: datetime, kind: str, reason: str) -> None:
        self.done(when, fixes.disagree, self.contact, self.items[kind], reason=reason)

    def confirm(self, when: datetime, report: SiteReport) -> ReadinessConfirmation:
        ticks = {str(run.pk): list(confirming.TICKS) for run in self.runs.values()}
        shown = when - timedelta(minutes=2)
        proof = Proof(Method.CODE, shown, "Chrome on Android", self.contact.email)
        sign = confirming.confirm_ready
        return self.done(when, sign, self.contact, report, ticks=ticks, proof=proof)

    def ask(self, when: datetime, *wanted: tuple[int, str], note: str = "") -> Booking:
        """Ask for days, each given as working days from today, and a half."""
        days = [(self.dates.day(days), half) for days, half in wanted]
        ask = booking.ask_for_booking
        return self.done(when, ask, self.contact, self.site, preferences=days, note=note)

    def offer(self, when: datetime, days: int, half: str, note: str = "") -> Booking:
        offered = {"day": self.dates.day(days), "half": half, "note": note}
        return self.done(when, booking.offer_date, self.staff, self.site, **offered)

    def accept_offer(self, when: datetime, offered: Booking) -> Booking:
        return self.done(when, booking.accept_offer, self.contact, offered)

    def put_off(
        self, when: datetime, booked: Booking, cause: str, days: int, half: str, note: str
    ) -> None:
        """Put the booked day off, and offer another."""
        instead = {"day": self.dates.day(days), "half": half, "note": note}
        self.done(when, putting_off.put_off, self.staff, booked, cause=cause, **instead)

    def treat(self, when: datetime, booked: Booking, used_ml: int) -> None:
        self.done(
            when, booking.record_treatment, self.staff, booked,
            used_ml=used_ml, batch_number="DEMO-0417", weather="Dry, 24 °C, light wind",
            note="Treated all round. No splashes on paving.",
        )  # fmt: skip

    def turn_away(self, when: datetime, booked: Booking, reason: str) -> None:
        self.done(when, booking.turn_away, self.staff, booked, reason=reason)


def work_off() -> None:
    """Do every waiting task now, in this thread and at this thread's time."""
    if "django_tasks_db" not in settings.TASKS["default"]["BACKEND"]:
        return
    until_none_waits("demo-loading").run()
