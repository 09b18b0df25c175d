"""The shape of what is said about a site: a sentence, how it looks, who acts, and the next step."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from enum import StrEnum

from readiness.rules.codes import Code
from readiness.rules.site.assessment import Reason


class Tone(StrEnum):
    """How a sentence looks: the class that theme.css draws."""

    STOP = "holds"
    WAIT = "waits"
    GO = "ready"
    QUIET = ""


class Turn(StrEnum):
    """Whose turn it is."""

    OURS = "us"
    BUILDERS = "builder"
    NOBODYS = ""


@dataclass(frozen=True)
class Step:
    """The one thing to do next: a button's words and where it leads.

    `page` is the name of an address, which is the site's unless `about` is the id of another thing;
    `place` goes behind it (a query, an anchor). Without a `page` it is a place on the page itself.
    It `acts` where it is not for those who only read.
    """

    label: str
    page: str
    place: str = ""
    about: str = ""
    acts: bool = False


@dataclass(frozen=True)
class Saying:
    """One plain sentence about a site, how it looks, whose turn it is, and the reader's step."""

    sentence: str
    tone: Tone = Tone.QUIET
    turn: Turn = Turn.NOBODYS
    step: Step | None = None

    def to_read(self) -> Saying:
        """The same for somebody who only reads: without a step that acts."""
        return replace(self, step=None) if self.step and self.step.acts else self


Words = Callable[[Reason], str]
NextStep = Callable[[Reason], Step]


@dataclass(frozen=True)
class Audience:
    """Who reads: what each code says to them, and what they can do about it.

    A step of None says on purpose that this reader can only wait, or that the words say it all.
    `never` are the codes that this reader can't meet, with why.
    """

    name: str
    words: Mapping[Code, Words]
    steps: Mapping[Code, NextStep | None]
    never: Mapping[Code, str] = field(default_factory=dict)

    def sentence(self, reason: Reason) -> str:
        """The reason as this audience reads it."""
        return self.words[reason.code](reason)

    def step(self, reason: Reason) -> Step | None:
        """What this audience can do about the reason."""
        step = self.steps[reason.code]
        return step(reason) if step else None


def never(why: str, *codes: Code) -> dict[Code, str]:
    """Codes that an audience can't meet, for one reason."""
    return dict.fromkeys(codes, why)
