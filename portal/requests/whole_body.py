"""Requests whose body was cut off on the way.

A phone that loses its connection in the middle of sending, or a page that is left, ends the body
early. Django takes what came for all of it: a form without its last fields, as if they had been
cleared. Here the missing rest is an error of the connection, and Django refuses the request.
"""

from __future__ import annotations


class WholeBody:
    """WSGI middleware: reading a body fails unless all of its announced length arrives."""

    def __init__(self, application):
        self.application = application

    def __call__(self, environ, start_response):
        length = environ.get("CONTENT_LENGTH") or ""
        if length.isdecimal():
            environ["wsgi.input"] = _Announced(environ["wsgi.input"], int(length))
        return self.application(environ, start_response)


class _Announced:
    """A body of which `left` bytes are still to come."""

    def __init__(self, stream, left: int):
        self.stream, self.left = stream, left

    def read(self, size: int | None = None) -> bytes:
        wanted = self._at_most(size)
        return self._arrived(self.stream.read(wanted), wanted)

    def readline(self, size: int | None = None) -> bytes:
        wanted = self._at_most(size)
        line = self.stream.readline(wanted)
        return self._arrived(line, len(line) if line.endswith(b"\n") else wanted)

    def _at_most(self, size: int | None) -> int:
        return self.left if size is None or size < 0 else min(size, self.left)

    def _arrived(self, data: bytes, wanted: int) -> bytes:
        """The data; at the end of the stream they are fewer than wanted (PEP 3333, as `io`)."""
        self.left -= len(data)
        if len(data) < wanted:
            raise ConnectionResetError(f"{self.left} bytes of the request never arrived.")
        return data
