"""How an action says no."""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum


class About(StrEnum):
    """What has to be mended before the action can be done."""

    NOTHING = ""
    SITE = "site"
    REPORT = "report"
    ITEM = "item"
    RUN = "run"
    RULE = "rule"
    ACCOUNT = "account"
    REFERRAL = "referral"
    PROOF = "proof"


@dataclass(frozen=True)
class Problem:
    """One reason why something can't be done, and the thing to go to for mending it.

    `about` names what `about_id` is.
    A page that shows it fills in `url`, where that is mended, and the `label` of the link.
    """

    sentence: str
    about: About = About.NOTHING
    about_id: str = ""
    url: str = ""
    label: str = ""


class Refused(Exception):
    """The state of things does not allow the action. Carries sentences for the person."""

    def __init__(self, problems: str | Iterable[Problem]):
        if isinstance(problems, str):
            problems = [Problem(problems)]
        self.problems = tuple(problems)
        super().__init__(" ".join(problem.sentence for problem in self.problems))
