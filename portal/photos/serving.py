"""Answering with the bytes of a photo. Whoever calls this has checked who may see it."""

import logging
from urllib.parse import quote

from django.conf import settings
from django.http import FileResponse, Http404, HttpResponse, HttpResponseNotModified
from django.http.response import HttpResponseBase
from django.utils.cache import patch_cache_control
from django.utils.http import content_disposition_header, parse_etags

from portal.addresses import address
from readiness.models import Photo, SpooledOriginal
from readiness.patience import Patience, patience
from readiness.photos import kinds, sizes, store
from readiness.photos.store import StoreUnreachable

log = logging.getLogger(__name__)

A_YEAR_SECONDS = 365 * 24 * 3600
# Wider than any small size, by which `pictures.js` knows it.
STAND_IN = b"""<svg xmlns="http://www.w3.org/2000/svg" width="404" height="303"
 viewBox="0 0 404 303">
<rect width="404" height="303" fill="#e7eaec"/><text x="202" y="142" text-anchor="middle"
 font-family="sans-serif" font-size="34" fill="#29363c">Picture not reachable<tspan x="202"
 dy="44">just now</tspan></text></svg>"""


def version_of(photo: Photo) -> str:
    """Changes whenever the served sizes of the photo would: digest, and version of its blur."""
    markup = sizes.markup_of(photo)
    blur = f"-{markup.version}" if markup and markup.has_blur else ""
    return f"{photo.short_digest}{blur}"


def photo_url(photo, size: str = "small") -> str:
    """The address of a size; it changes when the picture behind it does."""
    return f"{address('photos:size', photo.pk, size)}?v={version_of(photo)}"


def etag_of(version: str, size: str) -> str:
    """The ETag of a size; `known_pictures` works it out from the address alone."""
    return f'"{version}-{size}"'


def keep_for_good(response: HttpResponseBase) -> None:
    """Let the browser, and nobody on the way, keep what is at an address that carries a version."""
    patch_cache_control(response, private=True, max_age=A_YEAR_SECONDS, immutable=True)


def serve_size(request, photo: Photo, size: str, *, clean: bool = False) -> HttpResponseBase:
    """The ``large`` or ``small`` size as JPEG; ``clean`` is without burned-in blur.

    An address that carries the right version (``?v=``) may be kept by the browser for good.
    """
    if photo.is_removed or photo.original.is_deleted:
        raise Http404
    etag = etag_of(version_of(photo), f"{size}{'-clean' if clean else ''}")
    if etag in parse_etags(request.META.get("HTTP_IF_NONE_MATCH", "")):
        return _private(HttpResponseNotModified(), request, photo, etag)
    try:
        with patience(Patience.PAGE):
            response = _size_response(photo, size, clean)
    except (sizes.SizesError, StoreUnreachable) as error:
        return _not_now(request, error)
    return _private(response, request, photo, etag)


def _size_response(photo: Photo, size: str, clean: bool) -> HttpResponseBase:
    """The size as a file, made first if it is missing. Raises ``SizesError``."""
    if store.is_local():
        return _file_response(sizes.ready_name(photo, size, clean=clean), sizes.MEDIA_TYPE)
    return FileResponse(sizes.open_size(photo, size, clean=clean), content_type=sizes.MEDIA_TYPE)


def _not_now(request, error: Exception) -> HttpResponseBase:
    """A drawing in the picture's place that says so; the browser asks again on the next page.

    A picture that is about to be marked or measured (``?marks``) has no such stand-in: nobody is to
    measure on it.
    """
    passing = not isinstance(error, sizes.SizesError) or error.passing
    if not passing:
        raise Http404 from error
    log.warning("A picture is not reachable: %s", error)
    stand_in = b"" if "marks" in request.GET else STAND_IN
    response = HttpResponse(stand_in, content_type="image/svg+xml", status=503)
    response["Retry-After"], response["Cache-Control"] = "15", "no-store"
    response["X-Content-Type-Options"] = "nosniff"
    response["Cross-Origin-Resource-Policy"] = "same-origin"
    response._has_been_logged = True  # type: ignore[attr-defined]  # as Django's own log_response
    return response


def serve_original(request, photo: Photo) -> HttpResponseBase:
    """The original's unchanged bytes, as a download."""
    if photo.is_removed or photo.original.is_deleted:
        raise Http404
    media_type = photo.original.media_type
    try:
        response = _file_response(photo.original.storage_name, media_type)
    except Http404:
        if SpooledOriginal.objects.filter(original=photo.original_id).exists():
            raise StoreUnreachable("The original waits on another machine to be moved.") from None
        raise
    name = f"{photo.short_digest}.{kinds.EXTENSIONS.get(media_type, 'bin')}"
    response["Content-Disposition"] = content_disposition_header(True, name)
    return _private(response, request, photo, f'"{photo.original_id}"')


def _file_response(name: str, media_type: str) -> HttpResponseBase:
    """The stored file, sent by the web server in front of us where one is set up for it."""
    prefix = getattr(settings, "READINESS_X_ACCEL_PREFIX", "")
    if prefix and store.local_path(name) is not None:
        response = HttpResponse(content_type=media_type)
        response["X-Accel-Redirect"] = f"{prefix.rstrip('/')}/{quote(name)}"
        return response
    try:
        return FileResponse(store.open_file(name), content_type=media_type)
    except FileNotFoundError as error:
        raise Http404 from error


def _private(response: HttpResponseBase, request, photo: Photo, etag: str) -> HttpResponseBase:
    response["ETag"] = etag
    response["X-Content-Type-Options"] = "nosniff"
    response["Cross-Origin-Resource-Policy"] = "same-origin"
    if request.GET.get("v") == version_of(photo):
        keep_for_good(response)
    else:
        patch_cache_control(response, private=True, no_cache=True)
    return response
