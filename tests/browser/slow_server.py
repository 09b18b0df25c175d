"""A live server with poor reception: it answers late, and pages come in pieces.

`SLOW_SERVER=7 pytest tests/browser` finds tests, and screens, that hang on the order in which
things happen to arrive. The number is the seed of the delays. It takes about three times as long.
"""

import random
import time

from django.contrib.staticfiles.handlers import StaticFilesHandler
from django.core.handlers.wsgi import WSGIHandler
from django.http import HttpResponse

PIECES = 6
LEAST_BYTES = 900


def slow_down(seed: int) -> None:
    """From now on each answer of this process is late, by fractions of a second."""
    wait = _Waits(seed)
    answer, answer_static = WSGIHandler.__call__, StaticFilesHandler.__call__

    def slow_static(self, environ, start_response):
        if environ["PATH_INFO"].startswith("/static/"):
            wait.up_to(0.3)
        return answer_static(self, environ, start_response)

    def slow(self, environ, start_response):
        if environ["PATH_INFO"].startswith("/static/"):
            return answer(self, environ, start_response)
        wait.now_and_then(2.5)
        wait.up_to(0.8)
        response = answer(self, environ, start_response)
        if environ["REQUEST_METHOD"] == "POST":
            wait.up_to(0.6)
        is_page = isinstance(response, HttpResponse)
        return _InPieces(response, wait) if is_page else response

    WSGIHandler.__call__ = slow
    StaticFilesHandler.__call__ = slow_static


class _Waits:
    def __init__(self, seed: int):
        self.random = random.Random(seed)

    def up_to(self, most_s: float) -> None:
        time.sleep(self.random.uniform(0, most_s))

    def now_and_then(self, long_s: float) -> None:
        if self.random.random() < 0.1:
            time.sleep(long_s)


class _InPieces:
    """A response that is handed over bit by bit."""

    def __init__(self, response, wait: _Waits):
        self.response, self.wait = response, wait

    def __iter__(self):
        for content in self.response:
            size = max(len(content) // PIECES, LEAST_BYTES)
            for start in range(0, len(content), size):
                yield content[start : start + size]
                self.wait.up_to(0.2)

    def close(self):
        self.response.close()
