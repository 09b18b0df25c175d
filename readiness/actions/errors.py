"""How an action says no."""

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True)
class Problem:
    """One reason why something can't be done, and the thing to go to for mending it.

    `about` names what `about_id` is: "run", "item", "report", "site" or "" for nothing to go to.
    A page that shows it fills in `url`, where that is mended, and the `label` of the link.
    """

    sentence: str
    about: str = ""
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
