"""What happens on each demo site: every state that a site can be in has one."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

from readiness.actions.people import inviting, rights
from readiness.demo.houses import (
    COURTYARD,
    TERRACE,
    sound_levels,
    with_high_paving,
    with_low_render,
)
from readiness.demo.people import People
from readiness.demo.steps import Found, Lot, SiteSteps


@dataclass(frozen=True)
class Story:
    """A lot, what is found there, which of it is fixed, whose it is, and what happens."""

    lot: Lot
    found: tuple[Found, ...]
    fixed: tuple[str, ...]
    builder: str
    contact: str
    tell: Callable[[SiteSteps, Story], None]


def _enter(steps, days, wanted, levels):
    steps.enter_site(steps.dates.at(days, "8:20"), wanted=steps.dates.day(wanted), levels=levels)


def _put_right(steps, story, fixed: datetime, accepted: datetime) -> None:
    """The builder fixes all that the story says, and it is accepted."""
    for kind in story.fixed:
        steps.fix(fixed, kind)
    steps.accept(accepted, *story.fixed)


def _things_to_fix(steps: SiteSteps, story: Story) -> None:
    """Issued a week ago; the builder has done nothing yet and some of it is overdue."""
    at = steps.dates.at
    _enter(steps, -9, 2, with_low_render(COURTYARD, "Porch, back"))
    report = steps.visit(
        at(-7, "9:05"), story.found, notes="Side gate was open. The tap has no hose."
    )
    steps.issue(at(-7, "10:40"), report)


def _waiting_for_review(steps: SiteSteps, story: Story) -> None:
    """The builder says three things are fixed; one photo is odd, and the reviewer is told."""
    at = steps.dates.at
    _enter(steps, -10, 4, sound_levels(TERRACE))
    report = steps.visit(at(-6, "7:30"), story.found)
    steps.issue(at(-6, "8:50"), report)
    steps.fix(at(-4, "15:10"), "weep_hole_blocked", "Cleared right through.")
    steps.accept(at(-3, "9:00"), "weep_hole_blocked")
    steps.fix(at(-1, "14:20"), "soil_against_brick", "Bobcat took it all back.")
    steps.fix(at(-1, "14:26"), "mortar_drop", "Chipped off and brushed.")
    steps.fix(
        at(-1, "14:31"),
        "articulation_unsealed",
        "Rod and sealant in.",
        taken_at=at(-9, "11:00"),
        software="Picture Tidy 3 (demo)",
    )
    steps.background(at(-1, "14:31"))


def _disputed(steps: SiteSteps, story: Story) -> None:
    """One thing sent back, one that the builder disagrees with, one accepted, one still to fix."""
    at = steps.dates.at
    _enter(steps, -12, 3, with_high_paving(COURTYARD, "Living, back"))
    report = steps.visit(at(-8, "10:00"), story.found, weather="Overcast, 17 °C")
    steps.issue(at(-8, "11:30"), report)
    steps.fix(at(-5, "8:10"), "dirty_brick", "Washed down.", washed_at=at(-5, "7:30"))
    steps.fix(at(-5, "8:15"), "timber_against_wall")
    steps.accept(at(-4, "9:20"), "timber_against_wall")
    steps.send_back(
        at(-4, "9:25"),
        "dirty_brick",
        "The left half is clean, but there is still mud on the right half. Wipe it with a dry "
        "glove: nothing should come off.",
    )
    steps.disagree(
        at(-3, "16:45"),
        "ground_too_high",
        "The drawings show the paving finishing 40 mm lower than you measured. Paver comes back "
        "on Friday to take it down, so please measure again after that.",
    )


def _ready_to_confirm(steps: SiteSteps, story: Story) -> None:
    """Everything is accepted; only the builder's confirmation is missing.

    A boundary fence keeps everybody from one wall; it was decided that it is not treated.
    """
    at = steps.dates.at
    beyond_reach = "Bedroom side, back"
    levels = sound_levels(TERRACE)
    del levels[beyond_reach]
    _enter(steps, -11, 5, levels)
    report = steps.visit(at(-8, "13:00"), story.found, unchecked=[beyond_reach])
    steps.out_of_reach(
        at(-8, "13:30"),
        beyond_reach,
        "The boundary fence stands right in front of this wall. Nobody gets in from either end.",
        decided="No room for a person with a sprayer. The builder was told on site that this wall "
        "needs another termite management system.",
    )
    steps.issue(at(-8, "14:05"), report)
    _put_right(steps, story, fixed=at(-3, "10:30"), accepted=at(-2, "8:40"))


def _booking_asked(steps: SiteSteps, story: Story) -> None:
    at = steps.dates.at
    _enter(steps, -14, 4, sound_levels(COURTYARD))
    report = steps.visit(at(-9, "8:00"), story.found)
    steps.issue(at(-9, "9:10"), report)
    _put_right(steps, story, fixed=at(-4, "12:30"), accepted=at(-3, "7:50"))
    steps.confirm(at(-1, "9:15"), report)
    steps.ask(at(-1, "9:20"), (3, "morning"), (4, "morning"), note="Fencer starts the day after.")


def _booked_tomorrow(steps: SiteSteps, story: Story) -> None:
    """Booked for today, put off for rain, and booked again for tomorrow."""
    at = steps.dates.at
    _enter(steps, -15, 1, sound_levels(TERRACE))
    report = steps.visit(at(-10, "7:40"), story.found)
    steps.issue(at(-10, "8:35"), report)
    _put_right(steps, story, fixed=at(-6, "15:30"), accepted=at(-5, "8:00"))
    steps.confirm(at(-2, "8:05"), report)
    steps.ask(at(-2, "8:10"), (0, "morning"), (1, "morning"))
    offered = steps.offer(at(-2, "11:45"), 0, "morning", "We are there from 7:30.")
    booked = steps.accept_offer(at(-2, "12:10"), offered)
    steps.put_off(at(-1, "15:40"), booked, "rain", 1, "morning", "Showers all morning, they say.")
    steps.accept_offer(at(-1, "16:05"), booked)


def _offered_early(steps: SiteSteps, story: Story) -> None:
    """A day is offered, but cannot be accepted while things are still to fix."""
    at = steps.dates.at
    _enter(steps, -6, 6, sound_levels(COURTYARD))
    report = steps.visit(at(-3, "11:00"), story.found)
    steps.issue(at(-3, "12:20"), report)
    steps.ask(at(-2, "17:05"), (5, "morning"), (6, "afternoon"))
    steps.offer(at(-1, "8:30"), 6, "afternoon", "Yours if the list is done by then.")


def _treated(steps: SiteSteps, story: Story) -> None:
    at = steps.dates.at
    _enter(steps, -20, -4, sound_levels(TERRACE))
    report = steps.visit(at(-16, "9:00"), story.found)
    steps.issue(at(-16, "10:00"), report)
    _put_right(steps, story, fixed=at(-11, "13:30"), accepted=at(-10, "8:00"))
    steps.confirm(at(-6, "8:00"), report)
    offered = steps.offer(at(-6, "9:00"), -4, "morning")
    booked = steps.accept_offer(at(-6, "9:30"), offered)
    steps.treat(at(-4, "10:45"), booked, 5_400)


def _turned_away(steps: SiteSteps, story: Story) -> None:
    """Ready on paper, but soil came back before the day: turned away, and a second report."""
    at = steps.dates.at
    seen_first = (*story.fixed, "tight_crack")
    first = [thing for thing in story.found if thing.kind in seen_first]
    later = [thing for thing in story.found if thing.kind not in seen_first]
    _enter(steps, -21, -3, with_low_render(COURTYARD, "Porch, back", deck_gap_mm=12))
    report = steps.visit(at(-15, "8:30"), first)
    steps.issue(at(-15, "9:30"), report)
    _put_right(steps, story, fixed=at(-9, "16:00"), accepted=at(-8, "8:15"))
    steps.confirm(at(-5, "7:55"), report)
    offered = steps.offer(at(-5, "8:30"), -3, "morning")
    booked = steps.accept_offer(at(-5, "9:00"), offered)
    steps.turn_away(
        at(-3, "7:50"),
        booked,
        "Topsoil was delivered against the tap side yesterday, and a deck now stands at the "
        "porch. Neither was there when we looked.",
    )
    second = steps.visit(
        at(-3, "8:00"),
        later,
        carry_over=[steps.items["tight_crack"]],
        wanted=steps.dates.day(6),
        notes="Second visit: turned away.",
    )
    steps.issue(at(-3, "8:40"), second)


def _draft(steps: SiteSteps, story: Story) -> None:
    """A report begun at the wall: two walls not checked, one measurement and one photo missing.

    A mud tube ended the walk, and no technician has decided yet.
    """
    at, ago = steps.dates.at, steps.dates.ago
    _enter(steps, -2, 9, {})
    begun = min(at(-1, "15:00"), ago(3))
    steps.visit(begun, story.found, unchecked=TERRACE.labels[-2:])
    steps.termites(
        min(at(-1, "15:25"), ago(2.5)),
        "Bedroom side, back",
        2_600,
        "Mud tube from the ground over the slab edge and up the brick. Left as it is.",
    )


def _not_visited(steps: SiteSteps, story: Story) -> None:
    _enter(steps, -1, 10, {})


def _drying(steps: SiteSteps, story: Story) -> None:
    """Washed this morning: accepted, but the brick has to dry before anyone can confirm."""
    at, ago = steps.dates.at, steps.dates.ago
    _enter(steps, -9, 3, sound_levels(COURTYARD))
    report = steps.visit(at(-5, "9:30"), story.found)
    steps.issue(at(-5, "10:15"), report)
    steps.fix(ago(4), "tap_splashes", "Washed with clean water.", washed_at=ago(5))
    steps.accept(ago(2), "tap_splashes")


STORIES = (
    Story(
        Lot("12 Lyrebird Crescent", "Mirrin Vale", "NSW", "2999", "KH-1187", "-31.8012", "144.6043",
            COURTYARD, "Gate code 0000#. Park on the verge. Dog next door barks, nothing more."),
        (
            Found("soil_against_brick", "Tap side", 2_400, 3_600, 235, size="full", closer=True),
            Found("tap_splashes", "Tap side", 13_800, 14_700, size="usual"),
            Found("weep_hole_blocked", "Tap side", 9_120),
            Found("unfilled_joint", "Behind garage", 1_200, 1_640, 35, size="usual"),
            Found("articulation_unsealed", "Garage side", 4_800, None, 12),
            Found("mortar_drop", "Front, bedrooms", 800, 1_700),
            Found("render_line_low", "Porch, back", 0, 3_000, 40, size="full"),
            Found("tight_crack", "Living, side", 2_900, 3_350, 2, effect="record", size="tall",
                  note="Was there before us. Watch it."),
        ),
        (), "kettlestone", "supervisor", _things_to_fix,
    ),
    Story(
        Lot("3 Damper Lane", "Tallow Reach", "QLD", "4999", "KH-1204", "-24.9031", "142.7015",
            TERRACE, "Keys in the lock box, code on the job card."),
        (
            Found("weep_hole_blocked", "Front", 3_840),
            Found("mortar_drop", "Front", 5_000, 5_900),
            Found("soil_against_brick", "Garage side", 1_000, 2_150, 163, size="usual",
                  closer=True),
            Found("articulation_unsealed", "Garage side", 5_600, None, 11, size="usual"),
            Found("access_blocked", "Bedroom side, front", 2_000, 3_500),
        ),
        ("weep_hole_blocked", "soil_against_brick", "mortar_drop", "articulation_unsealed"),
        "kettlestone", "supervisor", _waiting_for_review,
    ),
    Story(
        Lot("27 Saltbush Row", "Mirrin Vale", "NSW", "2999", "KH-1171", "-31.8047", "144.6101",
            COURTYARD),
        (
            Found("dirty_brick", "Behind garage", 500, 5_200, size="usual"),
            Found("timber_against_wall", "Living, side", 1_100, 2_200),
            Found("ground_too_high", "Living, back", 4_600, 7_700, 32, size="full"),
            Found("gap_too_wide", "Front, garage", 5_600, None, 38),
        ),
        ("dirty_brick", "timber_against_wall"), "kettlestone", "supervisor", _disputed,
    ),
    Story(
        Lot("8 Pobblebonk Place", "Lower Quandong", "NSW", "2998", "KH-1165", "-31.952", "144.208",
            TERRACE),
        (
            Found("unfilled_joint", "Back, living", 2_300, 2_750),
            Found("wet_brick", "Garage side", 7_000, 9_500),
        ),
        ("unfilled_joint", "wet_brick"), "kettlestone", "supervisor", _ready_to_confirm,
    ),
    Story(
        Lot("41 Billycan Street", "Lower Quandong", "NSW", "2998", "KH-1158", "-31.954", "144.212",
            COURTYARD),
        (
            Found("mortar_drop", "Garage side", 6_000, 6_850, size="usual"),
            Found("tight_crack", "Front, bedrooms", 3_900, 4_400, 3),
        ),
        ("mortar_drop", "tight_crack"), "kettlestone", "supervisor", _booking_asked,
    ),
    Story(
        Lot("5 Wattlebird Way", "Tallow Reach", "QLD", "4999", "KH-1149", "-24.9066", "142.7090",
            TERRACE, "Sticky side gate: lift and push."),
        (
            Found("soil_against_brick", "Back, laundry", 300, 1_500),
            Found("weep_hole_blocked", "Garage side", 2_880),
        ),
        ("soil_against_brick", "weep_hole_blocked"), "kettlestone", "supervisor", _booked_tomorrow,
    ),
    Story(
        Lot("19 Drovers Loop", "Mirrin Vale", "NSW", "2999", "KH-1213", "-31.8090", "144.6012",
            COURTYARD),
        (
            Found("no_struck_joint", "Porch, back", 0, 3_000, size="usual"),
            Found("timber_against_wall", "Tap side", 3_000, 4_100),
            Found("mortar_drop", "Living, back", 2_000, 2_850, effect="applicator"),
            Found("pipe_not_sealed", "Behind garage", 2_200),
            Found("slab_against_wall", "Living, side", 300, 2_100),
        ),
        (), "kettlestone", "supervisor", _offered_early,
    ),
    Story(
        Lot("16 Emberwood Drive", "Saltbush Rise", "VIC", "3999", "PL-077", "-35.3010", "141.9042",
            TERRACE),
        (
            Found("gap_too_wide", "Back, living", 1_800, None, 34, size="usual"),
            Found("dirty_brick", "Front", 1_000, 4_000),
        ),
        ("gap_too_wide", "dirty_brick"), "lantern", "rival", _treated,
    ),
    Story(
        Lot("2 Gumnut Gully", "Dunmallow", "SA", "5999", "PL-081", "-30.2044", "139.3071",
            COURTYARD),
        (
            Found("articulation_unsealed", "Garage side", 4_800, None, 13),
            Found("tight_crack", "Living, back", 6_900, 7_400, 2, effect="record",
                  note="Was there before us."),
            Found("soil_against_brick", "Tap side", 5_000, 6_200, 270, size="usual", closer=True),
            Found("attachment_too_close", "Porch, back", 400, 2_600, 12),
            Found("render_line_low", "Porch, back", 0, 3_000, 40),
        ),
        ("articulation_unsealed",), "lantern", "rival", _turned_away,
    ),
    Story(
        Lot("60 Kelpie Court", "Dunmallow", "SA", "5999", "PL-090", "-30.2071", "139.3115",
            TERRACE),
        (
            Found("weep_hole_low", "Front", 2_000, 5_000, 22),
            Found("gap_too_wide", "Garage side", 10_900),
            Found("unfilled_joint", "Back, living", 900, photographed=False),
        ),
        (), "lantern", "rival", _draft,
    ),
    Story(
        Lot("7 Teapot Hill Road", "Cobbler's Reach", "TAS", "7999", "PL-085", "-42.403", "146.302",
            COURTYARD),
        (Found("tap_splashes", "Tap side", 14_000, 14_850, size="usual"),),
        ("tap_splashes",), "lantern", "rival", _drying,
    ),
    Story(
        Lot("11 Bandicoot Bend", "Wexcombe", "WA", "6999", "P-31", "-27.5011", "121.8050",
            TERRACE, "Not fenced yet. Ask for Bex on site."),
        (), (), "plover", "plover_contact", _not_visited,
    ),
)  # fmt: skip


def last_touches(people: People, steps_by_job: dict[str, SiteSteps]) -> None:
    """A contact who sees two sites only, and one invitation that nobody has used yet."""
    seen = [steps_by_job["KH-1187"].site, steps_by_job["KH-1204"].site]
    rights.change_contact(
        people.owner, people.limited.memberships.get(), position="Trainee supervisor", sites=seen
    )
    inviting.invite_contact(people.owner, people.lantern, "new.start@paperlantern.example")
