"""Pictures that the browser has already: answered before anybody is looked up.

The address of a size carries the version of its picture (`?v=`), and the ETag follows from that
version. So when the browser shows the ETag that belongs to the address, it has these bytes, and
"not modified" tells it nothing that it did not bring along: not even whether there is such a photo.
Whoever was switched off since gets no byte either, and what is on their device stays there anyway.
"""

import re

from django.http import HttpResponseNotModified
from django.utils.http import parse_etags

from portal.photos.serving import etag_of, keep_for_good

ADDRESS = re.compile(r"/photos/[0-9a-f-]{36}/(large|small)/")
QUERY = re.compile(r"v=([0-9a-f]{32}(?:-\d{1,9})?)")


class KnownPicturesMiddleware:
    """Answers 304 for a picture that was asked for by its version and is known by its ETag."""

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        etag = known(request)
        if etag is None:
            return self.get_response(request)
        response = HttpResponseNotModified(headers={"ETag": etag})
        keep_for_good(response)
        return response


def known(request) -> str | None:
    """The ETag of the picture asked for, if the browser says that it has just that one."""
    told = request.META.get("HTTP_IF_NONE_MATCH")
    if not told or request.method not in ("GET", "HEAD"):
        return None
    address = ADDRESS.fullmatch(request.path_info)
    version = QUERY.fullmatch(request.META.get("QUERY_STRING", ""))
    if not address or not version:
        return None
    etag = etag_of(version[1], address[1])
    return etag if etag in {one.removeprefix("W/") for one in parse_etags(told)} else None
