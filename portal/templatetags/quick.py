"""Tags that every template has: a quicker `url`, and includes that are made once.

Both give what Django's own would; they are built in (see TEMPLATES in the settings).
"""

import re
from functools import lru_cache
from uuid import UUID

from django import template
from django.conf import settings
from django.template import loader
from django.template.base import TextNode
from django.template.defaulttags import URLNode
from django.template.defaulttags import url as django_url
from django.urls import NoReverseMatch
from django.utils.html import conditional_escape
from django.utils.safestring import mark_safe
from django.utils.translation import get_language

from portal.addresses import address

register = template.Library()

PLAIN = (str, int, bool, type(None))


class QuickURLNode(URLNode):
    """Django's `url` tag, without looking at patterns for addresses that hold nothing but ids."""

    def render(self, context):
        if self.kwargs:
            return super().render(context)
        ids = [argument.resolve(context) for argument in self.args]
        name = self.view_name.resolve(context)
        if not isinstance(name, str) or not all(isinstance(given, UUID) for given in ids):
            return super().render(context)
        try:
            found = address(name, *ids)
        except NoReverseMatch:
            return super().render(context)
        if self.asvar:
            context[self.asvar] = found
            return ""
        return conditional_escape(found) if context.autoescape else found


@register.tag
def url(parser, token):
    """`{% url "builder:site" site.pk %}`, as Django's."""
    node = django_url(parser, token)
    return QuickURLNode(node.view_name, node.args, node.kwargs, node.asvar)


_BETWEEN_ELEMENTS = re.compile(r"(^|(?<=>))\s*\n\s*($|(?=<))")
_LINE_BREAK = re.compile(r"\s*\n\s*")


@register.tag
def dense(parser, token):
    """`{% dense %}` to `{% enddense %}`: without the line breaks and indents of the template.

    For parts that a page repeats. A line break between two elements or tags goes; any other, as
    between words or between the attributes of an element, becomes one blank. So what has to stand
    apart stands on one line. Costs nothing when a page is made.
    """
    inside = parser.parse(["enddense"])
    parser.delete_first_token()
    for node in inside.get_nodes_by_type(TextNode):
        node.s = _LINE_BREAK.sub(" ", _BETWEEN_ELEMENTS.sub("", node.s))
    return _Inside(inside)


class _Inside(template.Node):
    def __init__(self, nodelist):
        self.nodelist = nodelist

    def render(self, context):
        return self.nodelist.render(context)


@register.simple_tag
def made_once(name: str, **given):
    """`{% made_once "portal/_state.html" state=item.state %}`: an include that is kept.

    White space around it is left out, so that it can stand within a line.

    The template gets what is given here and nothing else, so that its output depends on nothing
    else: not on who asks, nor when. Only plain texts and numbers can be given.
    """
    for key, value in given.items():
        if not isinstance(value, PLAIN):
            raise template.TemplateSyntaxError(f"{name}: {key} is no plain text or number.")
    if settings.DEBUG:  # a template that is being written shows at once
        return _made(name, given)
    return _kept(name, get_language(), tuple((key, given[key], type(given[key])) for key in given))


@lru_cache(maxsize=2000)
def _kept(name: str, language: str | None, given: tuple) -> str:
    return _made(name, {key: value for key, value, _ in given})


def _made(name: str, given: dict) -> str:
    return mark_safe(loader.get_template(name).render(given).strip())  # noqa: S308  (a template's)
