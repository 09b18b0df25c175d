"""How states read: ``{% load states %}``."""

from django import template

from readiness.wording import states

register = template.Library()
register.filter("state_words", states.words)
