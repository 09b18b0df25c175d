"""Showing photos in templates: ``{% load photos %}``.

- ``{% photo_url photo "small" %}``: the address of a size, with its version.
- ``{% photo_img photo "small" alt="..." %}``: an ``<img>`` with its true shape, so that the page
  does not jump while it loads, and with the photo's markup drawn over it when it is ``"large"``.
"""

from django import template
from django.urls import reverse
from django.utils.html import format_html

from portal.photos.serving import version_of
from readiness.photos.limits import LARGE_PX, SMALL_PX

register = template.Library()

LONGEST_PX = {"large": LARGE_PX, "small": SMALL_PX}


@register.simple_tag
def photo_url(photo, size: str = "small") -> str:
    """The address of a size; it changes when the picture behind it does."""
    return reverse("photos:size", args=[photo.pk, size]) + f"?v={version_of(photo)}"


@register.simple_tag
def photo_img(photo, size: str = "small", alt: str = "", css: str = "", url: str = ""):
    """An image element of the photo; ``url`` replaces the address (for shared links)."""
    longest = max(photo.width_px, photo.height_px)
    scale = min(1, LONGEST_PX[size] / longest)
    return format_html(
        '<img src="{}" width="{}" height="{}" alt="{}" class="{}" loading="lazy" decoding="async">',
        url or photo_url(photo, size),
        max(1, round(photo.width_px * scale)),
        max(1, round(photo.height_px * scale)),
        alt or photo.caption or "Photo",
        f"photo-img {css}".strip(),
    )
