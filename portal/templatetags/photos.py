"""Showing photos in templates: ``{% load photos %}``.

- ``{% photo_url photo "small" %}``: the address of a size, with its version.
- ``{% photo_img photo "small" alt="..." %}``: the picture in its true shape, so that the page does
  not jump while it loads, with the photo's markup drawn over it.

Query photos with ``.with_originals()``: both tags need the original and the markup.
"""

from django import template
from django.utils.html import format_html

from portal.photos.serving import photo_url
from readiness.photos.limits import LARGE_PX, SMALL_PX
from readiness.photos.markup import svg_overlay
from readiness.photos.sizes import markup_of
from readiness.wording import photos as say

register = template.Library()

LONGEST_PX = {"large": LARGE_PX, "small": SMALL_PX}


register.simple_tag(photo_url)


@register.simple_tag
def photo_img(photo, size: str = "small", alt: str = "", css: str = "", url: str = ""):
    """The photo as an element of its true shape, with its markup drawn over it.

    ``url`` replaces the address (for shared links); ``css`` adds classes.
    """
    longest = max(photo.width_px, photo.height_px)
    scale = min(1, LONGEST_PX[size] / longest)
    width, height = (max(1, round(px * scale)) for px in (photo.width_px, photo.height_px))
    source, words = url or photo_url(photo, size), alt or photo.caption or "Photo"
    names = f"photo-img {css}".strip()
    markup = markup_of(photo)
    overlay = svg_overlay(markup.shapes, width, height) if markup else ""
    if not overlay:
        return format_html(
            '<img src="{}" width="{}" height="{}" alt="{}" class="{}" loading="lazy"'
            ' decoding="async">',
            *(source, width, height, words, names),
        )
    return format_html(
        '<svg class="{}" viewBox="0 0 {} {}" width="{}" height="{}" role="img" aria-label="{}">'
        '<image href="{}" width="{}" height="{}"/>{}</svg>',
        *(names, width, height, width, height, f"{words}, marked: {say.marks(markup.shapes)}"),
        *(source, width, height, overlay),
    )
