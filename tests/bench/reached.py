"""Notes which tests run which line of the product: a pytest plugin that `tests.bench.mutate` uses.

Needs `coverage` installed. Writes into the folder that `READINESS_REACHED` names, once a process.
"""

import functools
import gc
import json
import os
import time
import uuid
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
PRODUCT = ("readiness", "portal")
FOLDER = "READINESS_REACHED"


def pytest_configure(config) -> None:
    is_controller = getattr(config.option, "numprocesses", None) and not hasattr(
        config, "workerinput"
    )
    if FOLDER in os.environ and not is_controller:
        config.pluginmanager.register(Noting(Path(os.environ[FOLDER])))


class Noting:
    """Lets coverage know which test runs; what a fixture of many tests runs is its file's."""

    def __init__(self, folder: Path):
        from coverage import Coverage

        self.folder, self.name = folder, uuid.uuid4().hex
        self.seconds: dict[str, float] = {}
        self.failed: set[str] = set()
        self.coverage = Coverage(
            data_file=str(folder / f"{self.name}.coverage"),
            source=[str(ROOT / name) for name in PRODUCT],
            config_file=False,
        )
        self.coverage.start()

    @pytest.hookimpl(trylast=True)
    def pytest_collection_finish(self) -> None:
        self.caches = [one for one in gc.get_objects() if is_cache(one)]

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item):
        for cache in self.caches:
            cache.cache_clear()  # or only the first test would be seen to need what is in it
        self.coverage.switch_context(item.nodeid)
        begun = time.process_time()  # not of the clock: what else the machine does is none of it
        try:
            return (yield)
        finally:
            self.seconds[item.nodeid] = time.process_time() - begun

    @pytest.hookimpl(wrapper=True)
    def pytest_fixture_setup(self, fixturedef, request):
        if fixturedef.scope == "function":
            return (yield)
        self.coverage.switch_context(request.node.nodeid)
        try:
            return (yield)
        finally:
            self.coverage.switch_context(request._pyfuncitem.nodeid)

    def pytest_runtest_logreport(self, report) -> None:
        if report.failed:
            self.failed.add(report.nodeid)

    def pytest_sessionfinish(self) -> None:
        self.coverage.stop()
        self.coverage.save()
        passed = {test: time for test, time in self.seconds.items() if test not in self.failed}
        (self.folder / f"{self.name}.json").write_text(json.dumps(passed))


def is_cache(thing) -> bool:
    """Whether it is what `functools.cache` makes of a function of the product."""
    return type(thing) is functools._lru_cache_wrapper and str(thing.__module__).startswith(PRODUCT)
