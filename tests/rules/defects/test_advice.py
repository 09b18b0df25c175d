"""Advice that must never be given, and what must be said with advice that can hurt.

Everything that tells somebody what to do is held to it, whoever reads it: each kind's fix for every
measurement, what levels propose, the guide, e-mails. A kind that comes new is held to it as well.

Common practice (no source): a joint that must move takes backing rod and flexible sealant, never
mortar; a gap beside a frame or round a pipe belongs to the trade that owns it; a meter or gas
installation stays where it is; a joint in render that is cut anew leaves the old one made good.
"""

import re
from collections.abc import Iterator
from dataclasses import replace

import pytest

from readiness.models import Builder, DefectItem, Site, WallRun
from readiness.papers.guide import _checks
from readiness.rules.band.geometry import Attachment, Joint
from readiness.rules.band.quantities import site_quantities
from readiness.rules.defects.catalogue import KINDS, get_kind
from readiness.rules.defects.defect_kind import DefectKind
from readiness.rules.defects.proposals import proposed_items
from readiness.rules.defects.site_checks import site_checks
from readiness.rules.values.rule_values import RULE_VALUES, RuleValues
from readiness.rules.vocabulary import Caution, Effect, Trade
from readiness.wording.cautions import beside_fix, caution, of_item, on_the_day
from readiness.wording.checks import finding_sentence
from readiness.wording.letters import builder
from readiness.wording.paper import guide
from readiness.wording.proposals import required_fix, why
from readiness.wording.quantities import notes
from tests.rules.walls import brick_wall, rendered_wall, weeps_at

VALUES = RuleValues.defaults()
MEASURED = (None, 0, 1, 4, 6, 12, 20, 26, 40, 100, 230, 500, 1999)
REFUSAL = r"\b(?:no|never|not|without|ask|unless)\b"
MOVES = r"articulation|expansion|control joint|movement|must (?:still )?(?:be able to )?move"


def sentences(text: str) -> list[str]:
    return [part for part in re.split(r"(?<=[.!?])\s+", text) if part]


def asked(text: str, pattern: str) -> bool:
    """Whether a sentence asks for it: one that says not to, or to ask first, does not."""
    return any(
        re.search(pattern, part, re.I) and not re.search(REFUSAL, part, re.I)
        for part in sentences(text)
    )


# What no sentence may say


def wrong_mortar(text: str) -> bool:
    """Whether a sentence asks for mortar in a gap, crack or joint that has to move, or may."""
    for part in sentences(text):
        asks = re.search(
            r"\b(?:fill|filled|point|pack|press|close)\w*\b.*\bmortar|mortar\b.*\bfill", part, re.I
        )
        loose = re.search(rf"\bgap|crack|frame|pipe|conduit|{MOVES}", part, re.I)
        if asks and loose and not re.search(REFUSAL, part, re.I) and "between" not in part:
            return True
    return False


def moved_installation(text: str) -> bool:
    """Whether a sentence asks to move a meter, or an installation of gas or power."""
    move, what = r"\b(?:move|shift|relocate|remove)\b", r"\b(?:meter|gas|switchboard|power)\b"
    return asked(text, f"{move}.*{what}|{what}.*{move}")


def raised_joint(text: str) -> bool:
    """Whether a joint in render is to be cut anew while the old one is left open."""
    anew = r"(?:cut|raise)\b.*\b(?:new|higher|lower|raise)\b|raise it by"
    about = re.search(r"struck joint|cut in the render|joint in the render", text, re.I)
    return bool(about) and asked(text, anew) and "make good the old" not in text


def acid_left_on(text: str) -> bool:
    """Whether acid is spoken of, and not that it is rinsed off and neutralised, or not used."""
    about = [part for part in sentences(text) if re.search(r"\bacid\b", part, re.I)]
    return bool(about) and not ("rinse" in text.lower() and "neutralise" in text)


NEVER = {
    "mortar where it must move": wrong_mortar,
    "an installation is moved": moved_installation,
    "the old joint is left open": raised_joint,
    "acid is left on the brick": acid_left_on,
}

# What must be said with it

WITH = {
    "where no mortar may go": (
        r"\bmortar\b",
        r"\b(?:fill|close)\w*\b.*\bmortar|mortar.*\bfill",
        ("articulation", "frame", "pipe", "ask us"),
    ),
    "silica dust": (
        # Crystalline silica, 0.05 mg/m3 over 8 h: a state regulator's page (seen)
        "",
        r"\b(?:cut|rake|chip|grind|saw|drill|replace)\b(?!.*\bband\b.*\buncut)",
        ("silica",),
    ),
    "buried services": (
        "",
        r"\b(?:dig|excavate|trench)\b|lower the ground|soil away|uncover the|take it back"
        r"|soil lies .* up the brick|comes later",
        ("buried",),
    ),
    "no acid": ("", r"\b(?:wash|clean) the (?:brick|wall)|wash the brick|salt off", ("No acid",)),
    "pressure and fresh mortar": (
        # Brick suppliers' public pages (quoted): at most 7 MPa, nozzle 500 mm off, 7 days old
        "",
        r"\bwash the brick|clean the wall|acid wash\b",
        ("7 MPa", "500 mm", "7 days"),
    ),
    "sealant and solvent": ("", r"\bseal\w* (?:it |alone|.*sealant)|flexible seal", ("solvent",)),
    "meters and gas stay": (
        "",
        r"\bwiden the gap|isolate (?:it|the)|clear gap .* to the wall",
        ("meter", "gas", "ask us"),
    ),
}


def lacking(text: str) -> set[str]:
    """What a whole piece of advice, cautions and all, says that it must not, or fails to say."""
    found = {name for name, is_wrong in NEVER.items() if is_wrong(text)}
    for name, (about, pattern, words) in WITH.items():
        speaks = re.search(about, text, re.I) if about else True
        if speaks and asked(text, pattern) and not all(word in text for word in words):
            found.add(name)
    return found


# What is said, by who reads it


def item(kind: DefectKind, fix: str, effect=Effect.HOLDS) -> DefectItem:
    return DefectItem(
        number=1, kind=kind.slug, wall_run=WallRun(label="North wall"), required_fix=fix,
        trade=kind.trade, effect=effect, state="to_fix",
    )  # fmt: skip


def in_the_office(kind, fix):
    """The form of an item: the fix, and below it all cautions of the kind."""
    return [fix, *map(caution, kind.cautions)]


def to_the_builder(kind, fix):
    """The item on the builder's pages, on the trade's list and on papers."""
    found = item(kind, fix)
    assert of_item(found) == beside_fix(fix, kind.cautions)
    return [fix, *of_item(found)]


def in_an_e_mail(kind, fix):
    site = Site(street="1 Test Street", suburb="Dunmallow", builder=Builder(name="Wattle Homes"))
    told = builder.report_issued(builder.Report(site, 1, [item(kind, fix)], "1 thing to fix", 0))
    return told.points


def on_treatment_day(kind, fix):
    """What we fix ourselves."""
    return [fix, *on_the_day([item(kind, fix, Effect.ON_THE_DAY)])]


AUDIENCES = (in_the_office, to_the_builder, in_an_e_mail, on_treatment_day)


def fixes_of(kind: DefectKind) -> list[str]:
    """Every required fix of a kind, with and without a measurement."""
    return list(
        dict.fromkeys(kind.required_fix(VALUES, measured=at, from_mm=900) for at in MEASURED)
    )


WALLS = (
    *(
        brick_wall((0, -200), joints=(Joint(900, width, depth, kind=kind),))
        for kind in ("articulation", "crack")
        for width in (3, 8, 12, 26, 60)
        for depth in (12, 110)
    ),
    brick_wall((0, -100), weep_holes=weeps_at(-50)),
    brick_wall((0, -20)),
    brick_wall((0, -200), attachments=(Attachment(900, 5, "Meter box"),)),
    rendered_wall((0, -140)),
    rendered_wall((0, -90)),
    rendered_wall((0, -200), struck_joint_mm=None),
    rendered_wall((0, -200), weep_holes=weeps_at(-150)),
)


def proposed() -> Iterator[tuple[DefectKind, str]]:
    for run in WALLS:
        for found in proposed_items(run, VALUES):
            yield get_kind(found.kind), required_fix(found, VALUES)


ADVICE = [
    *((kind, fix) for kind in KINDS.values() if kind.fix for fix in fixes_of(kind)),
    *proposed(),
]


@pytest.mark.parametrize("reads", AUDIENCES, ids=lambda reads: reads.__name__)
@pytest.mark.parametrize(("kind", "fix"), ADVICE, ids=lambda part: getattr(part, "slug", ""))
def test_no_advice_is_dangerous_or_leaves_out_what_can_hurt(kind, fix, reads):
    assert lacking(" ".join(reads(kind, fix))) == set()


@pytest.mark.parametrize("trade", _checks(VALUES), ids=lambda trade: trade.trade)
def test_the_guide_says_it_too_with_the_fixes_of_each_trade(trade):
    for check in trade.checks:
        assert lacking(f"{check.fix} {' '.join(trade.cautions)}") == set()


def other_sentences() -> list[str]:
    """What explains, notes or proposes without being the fix of an item."""
    texts = [kind.look_for for kind in KINDS.values()]
    texts += [rule.explanation for rule in RULE_VALUES.values()]
    for run in WALLS:
        texts += [why(found) for found in proposed_items(run, VALUES)]
        texts += [finding_sentence(found) for found in site_checks(run, VALUES)]
        texts += notes(site_quantities([run], VALUES), VALUES)
    return [*texts, *(words for _, words in guide.ready_means(VALUES.words))]


@pytest.mark.parametrize("text", sorted(set(other_sentences())))
def test_nothing_else_that_is_said_advises_it(text):
    never = {name for name, is_wrong in NEVER.items() if is_wrong(text)}
    assert never - {"acid is left on the brick"} == set()


# That the checks find what they are for


@pytest.mark.parametrize(
    ("text", "lacks"),
    [
        ("The gap is 38 mm wide. Fill the gap with mortar at 0.9 m.", "mortar where it must move"),
        ("Close the gap round the pipe with mortar.", "mortar where it must move"),
        ("A wider gap is filled with mortar.", "mortar where it must move"),
        ("Fill the joints with mortar.", "where no mortar may go"),
        ("Move the gas meter 30 mm from the wall.", "an installation is moved"),
        ("The meter box has a gap of 5 mm: move it 20 mm away.", "an installation is moved"),
        ("Cut the struck joint 35 mm higher.", "the old joint is left open"),
        ("The struck joint is low. Raise it by 35 mm.", "the old joint is left open"),
        ("Wash the brick with acid.", "acid is left on the brick"),
        ("Wash the brick clean.", "no acid"),
        ("Wash the brick clean.", "pressure and fresh mortar"),
        ("Rake out the joint.", "silica dust"),
        ("Cut a joint through the render.", "silica dust"),
        ("Chip it off.", "silica dust"),
        ("Lower the ground by 40 mm.", "buried services"),
        ("Take the soil away from the brick.", "buried services"),
        ("Brush it clean and seal it with flexible sealant.", "sealant and solvent"),
        ("Close the gap with a flexible seal.", "sealant and solvent"),
        ("Widen the gap to the wall.", "meters and gas stay"),
    ],
)
def test_the_check_finds_what_it_is_for(text, lacks):
    assert lacks in lacking(text)


@pytest.mark.parametrize("code", Caution)
def test_a_kind_that_comes_without_its_caution_is_found(code):
    """Each caution is needed by a kind that has it: taken out there, a check says so."""
    broken = [
        kind.slug
        for kind in KINDS.values()
        if code in kind.cautions
        for fix in fixes_of(kind)
        if lacking(
            " ".join([fix, *beside_fix(fix, [other for other in kind.cautions if other != code])])
        )
    ]
    # What acid does to people follows from no words of a fix; the kind itself has it.
    assert broken or code is Caution.ACID


def test_a_kind_that_comes_new_is_held_to_it():
    new = DefectKind(
        slug="loose_cap",
        name="Loose cap",
        look_for="",
        fix="Rake out the gap beside the frame and fill the gap with mortar {where}.",
        trade=Trade.BRICKLAYER,
        minutes=10,
    )
    (fix,) = fixes_of(new)
    assert lacking(" ".join([fix, *map(caution, new.cautions)])) == {
        "mortar where it must move",
        "where no mortar may go",
        "silica dust",
    }


# The three fixes of an open gap


@pytest.mark.parametrize("width", [26, 40, 90])
def test_a_wide_articulation_joint_is_never_proposed_as_a_gap_to_fill(width):
    run = brick_wall((0, -200), joints=(Joint(900, width),))
    (found,) = [part for part in proposed_items(run, VALUES) if part.from_mm == 900]
    assert found.kind == "articulation_unsealed"
    assert "Ask us before filling it" in required_fix(found, VALUES)
    assert "mortar" not in required_fix(found, VALUES)


def test_a_wide_crack_is_never_proposed_as_a_gap_to_fill():
    run = brick_wall((0, -200), joints=(Joint(900, 40, kind="crack"),))
    (found,) = [part for part in proposed_items(run, VALUES) if part.from_mm == 900]
    assert found.kind == "tight_crack"
    assert "Find out why it opened" in required_fix(found, VALUES)


@pytest.mark.parametrize(
    ("slug", "trade", "says"),
    [
        ("gap_too_wide", "bricklayer", "with mortar"),
        ("articulation_unsealed", "sealing", "press in backing rod and seal it with flexible"),
        ("gap_at_frame", "carpenter", "flexible seal, as the trade that fitted the frame decides"),
        ("pipe_not_sealed", "plumber", "a collar or a flexible seal, as the trade that owns it"),
    ],
)
def test_each_sort_of_gap_has_its_own_fix_and_trade(slug, trade, says):
    kind = get_kind(slug)
    fix = kind.required_fix(VALUES)
    assert kind.trade == trade
    assert says in fix
    assert ("mortar" in fix) is (slug == "gap_too_wide")
    assert Caution.NO_MORTAR in kind.cautions


@pytest.mark.parametrize(
    ("width", "says", "rod"),
    [
        # Common practice (no source): a tight crack takes sealant alone, up to 5 mm; to 25 mm rod
        (1, "sealant alone will do", False),
        (5, "sealant alone will do", False),
        (6, "too wide for sealant alone. Find out why it opened", True),
        (25, "too wide for sealant alone. Find out why it opened", True),
        (26, "more than sealant can take (25 mm)", False),
    ],
)
def test_a_crack_is_mended_by_its_width(width, says, rod):
    text = get_kind("tight_crack").required_fix(VALUES, measured=width)
    assert says in text
    assert ("press in backing rod" in text) is rod
    assert f"is {width} mm wide" in text


@pytest.mark.parametrize("slug", ["attachment_too_close", "pad_against_wall"])
@pytest.mark.parametrize("measured", [None, 0, 12])
def test_what_stands_too_close_may_keep_a_gap_be_isolated_or_be_opened_to_inspect(slug, measured):
    text = get_kind(slug).required_fix(VALUES, measured=measured)
    # AS 3660.2:2017 extract (quoted): a clear gap of at least 25 mm
    assert "25 mm" in text
    assert "isolate" in text
    assert "inspect" in text
    assert "move" not in text.lower()


def test_a_kind_without_words_for_a_measurement_keeps_its_plain_ones():
    kind = replace(get_kind("unfilled_joint"), fix_measured="")
    said = kind.required_fix(VALUES, measured=30, from_mm=900)
    assert said == kind.required_fix(VALUES, from_mm=900) != ""
