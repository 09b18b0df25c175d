"""Answering with the bytes of a photo. Whoever calls this has checked who may see it."""

from urllib.parse import quote

from django.conf import settings
from django.http import FileResponse, Http404, HttpResponse, HttpResponseNotModified
from django.http.response import HttpResponseBase
from django.utils.cache import patch_cache_control
from django.utils.http import content_disposition_header, parse_etags

from readiness.models import Photo
from readiness.photos import kinds, sizes, store

A_YEAR_SECONDS = 365 * 24 * 3600


def version_of(photo: Photo) -> str:
    """Changes whenever the served sizes of the photo would: digest, and version of its blur."""
    markup = sizes.markup_of(photo)
    blur = f"-{markup.version}" if markup and markup.has_blur else ""
    return f"{photo.short_digest}{blur}"


def serve_size(request, photo: Photo, size: str, *, clean: bool = False) -> HttpResponseBase:
    """The ``large`` or ``small`` size as JPEG; ``clean`` is without burned-in blur.

    An address that carries the right version (``?v=``) may be kept by the browser for good.
    """
    if photo.is_removed or photo.original.is_deleted:
        raise Http404
    version = f"{version_of(photo)}-{size}{'-clean' if clean else ''}"
    etag = f'"{version}"'
    if etag in parse_etags(request.META.get("HTTP_IF_NONE_MATCH", "")):
        return _private(HttpResponseNotModified(), request, photo, etag)
    try:
        name = sizes.ready_name(photo, size, clean=clean)
    except sizes.SizesError as error:
        if not store.exists(photo.original.storage_name):
            raise Http404 from error
        return HttpResponse("The picture is being made. Try again in a moment.", status=503)
    response = _file_response(name, sizes.MEDIA_TYPE)
    return _private(response, request, photo, etag)


def serve_original(request, photo: Photo) -> HttpResponseBase:
    """The original's unchanged bytes, as a download."""
    if photo.is_removed or photo.original.is_deleted:
        raise Http404
    media_type = photo.original.media_type
    response = _file_response(photo.original.storage_name, media_type)
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
        patch_cache_control(response, private=True, max_age=A_YEAR_SECONDS, immutable=True)
    else:
        patch_cache_control(response, private=True, no_cache=True)
    return response
