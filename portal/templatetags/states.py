"""How states read: ``{% load states %}``."""

from django import template

from readiness.rules.vocabulary import Readiness
from readiness.wording import states
from readiness.wording.saying import Tone

register = template.Library()
register.filter("state_words", states.words)


@register.filter
def state_class(state: str) -> str:
    """The part of a chip's class that stands for a state: "to-fix"."""
    return state.replace("_", "-")


@register.filter
def status_tone(status: str) -> Tone:
    """How the answer about a site looks that is ready, not ready, or not inspected yet."""
    if status == Readiness.READY:
        return Tone.GO
    return Tone.STOP if status == Readiness.NOT_READY else Tone.WAIT
