"""Two addresses for whoever watches over the machines: is the process alive, can it do its work?

Plain text, no account, nothing that an outsider could use: no host, path, version or error text.
"""

import threading
from time import monotonic

from django.contrib.auth.decorators import login_not_required
from django.http import HttpResponse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from readiness.operations import health

KEPT_SECONDS = 5
"""So long what `/readyz` found of store and worker is said again: asking must not become work."""


class _Kept:
    """The last answer of this process; one asks, the others take what it found."""

    def __init__(self):
        self._lock = threading.Lock()
        self._checks: list[health.Check] = []
        self._until = 0.0

    def checks(self) -> list[health.Check]:
        with self._lock:
            if monotonic() >= self._until:
                self._checks = health.readiness()
                self._until = monotonic() + KEPT_SECONDS
            return self._checks

    def forget(self) -> None:
        self._until = 0.0


kept = _Kept()


@require_safe
@never_cache
@login_not_required
def live(request):
    """200 as long as this process answers at all; looks at nothing else."""
    return HttpResponse("ok\n", content_type="text/plain; charset=utf-8")


@require_safe
@never_cache
@login_not_required
def ready(request):
    """200 when database, store and background worker do their work, else 503; a line for each.

    The database is asked each time: without it no page can be served.
    """
    now = health.database()
    checks = [now if check.name == now.name else check for check in kept.checks()]
    lines = "".join(f"{check.name}: {check.words}\n" for check in checks)
    status = 200 if all(check.ok for check in checks) else 503
    answer = HttpResponse(lines, status=status, content_type="text/plain; charset=utf-8")
    if status == 503:
        answer["Retry-After"] = str(KEPT_SECONDS)
    return answer
