"""What the builder's pages say of walls: ``{% load builder_words %}``."""

from django import template

from readiness.rules.band.perimeter import wall_letter

register = template.Library()


@register.filter
def letter(number) -> str:
    """The letter of a wall on the plan: 1 is "A", 27 is "AA"."""
    return wall_letter(int(number))
