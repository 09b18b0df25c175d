"""How states read: ``{% load states %}``."""

from django import template

from readiness.wording import states

register = template.Library()
register.filter("state_words", states.words)


@register.filter
def state_class(state: str) -> str:
    """The part of a chip's class that stands for a state: "to-fix"."""
    return state.replace("_", "-")
