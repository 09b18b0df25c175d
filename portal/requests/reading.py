"""The business and its rule values are read once a request."""

from readiness.read_once import reading_once


class ReadOnceMiddleware:
    """Outside all that may ask for them; a streamed answer, sent after it, reads for itself."""

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        with reading_once():
            return self.get_response(request)
