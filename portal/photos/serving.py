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
DRAWING = """<svg xmlns="http://www.w3.org/2000/svg" width="{width}" height="303"
 viewBox="0 0 {width} 303">
<rect width="{width}" height="303" fill="#e7eaec"/><text x="202" y="142" text-anchor="middle"
 font-family="sans-serif" font-size="34" fill="#29363c">{words}<tspan x="202"
 dy="44">{more}</tspan></text></svg>"""
# Wider than any small size, by which `pictures.js` knows it.
STAND_IN = DRAWING.format(width=404, words="Picture not reachable", more="just now").encode()
LOST = DRAWING.format(width=403, words="Picture missing", more="from the store").encode()


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
    except (sizes.SizesError, StoreUnreachable, FileNotFoundError) as error:
        return _not_now(request, error)
    return _private(response, request, photo, etag)


def _size_response(photo: Photo, size: str, clean: bool) -> HttpResponseBase:
    """The size as a file, made first if it is missing. Raises ``SizesError``."""
    if store.is_local():
        return _file_response(sizes.ready_name(photo, size, clean=clean), sizes.MEDIA_TYPE)
    return FileResponse(sizes.open_size(photo, size, clean=clean), content_type=sizes.MEDIA_TYPE)


def _not_now(request, error: Exception) -> HttpResponseBase:
    """A drawing in the picture's place that says so; one that may pass is asked for again.

    A picture that is about to be marked or measured (``?marks``) has no such stand-in: nobody is to
    measure on it.
    """
    passing = isinstance(error, StoreUnreachable)
    if isinstance(error, sizes.SizesError):
        passing = error.passing
    stand_in = STAND_IN if passing else LOST
    if "marks" in request.GET:
        stand_in = b""
    response = HttpResponse(stand_in, content_type="image/svg+xml", status=503 if passing else 404)
    response["Cache-Control"] = "no-store"
    if passing:
        log.warning("A picture is not reachable: %s", error)
        response["Retry-After"] = "15"
    response["X-Content-Type-Options"] = "nosniff"
    response["Cross-Origin-Resource-Policy"] = "same-origin"
    response._has_been_logged = True  # type: ignore[attr-defined]  # as Django's own log_response
    return response


def serve_original(request, photo: Photo) -> HttpResponseBase:
    """The original's unchanged bytes, as a download.

    Raises ``FileNotFoundError`` where the store has lost them.
    """
    if photo.is_removed or photo.original.is_deleted:
        raise Http404
    media_type = photo.original.media_type
    try:
        response = _file_response(photo.original.storage_name, media_type)
    except FileNotFoundError:
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
    return FileResponse(store.open_file(name), content_type=media_type)


def _private(response: HttpResponseBase, request, photo: Photo, etag: str) -> HttpResponseBase:
    response["ETag"] = etag
    response["X-Content-Type-Options"] = "nosniff"
    response["Cross-Origin-Resource-Policy"] = "same-origin"
    if request.GET.get("v") == version_of(photo):
        keep_for_good(response)
    else:
        patch_cache_control(response, private=True, no_cache=True)
    return response
