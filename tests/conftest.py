"""The shared cast: an applicator, a builder contact, and a contact of another builder."""

import gc
import os
from pathlib import Path

import pytest
from django.conf import settings as django_settings
from django.db import connection
from django.template import RequestContext, Template
from django.test import Client, TransactionTestCase
from hypothesis import settings as hypothesis_settings

from tests import migrated
from tests.factories import make_applicator, make_builder, make_contact, make_runs, make_site
from tests.messages.smtp_server import MailServer
from tests.rules.tables import later_version

# A test makes many objects and soon drops them all: to look for circles less often is quicker.
gc.set_threshold(20_000, 20, 20)

# No test is timed: a busy machine is not a broken rule.
hypothesis_settings.register_profile("untimed", deadline=None)
hypothesis_settings.load_profile("untimed")


def _is_a_file() -> bool:
    return django_settings.DATABASES["default"]["ENGINE"].endswith("sqlite3")


# It is thrown away, as the database is: no need to wait for the disk. What is killed keeps what it
# wrote all the same; only a power cut would tell the difference.
os.fsync = lambda descriptor: None

_plain_render = Template._render


@pytest.fixture(scope="session")
def django_test_environment(django_test_environment):
    """`response.context` holds what a page was made from, and not a copy for each field on it."""
    watched = Template._render

    def render(template, context):
        is_page = context.template is template and isinstance(context, RequestContext)
        return (watched if is_page else _plain_render)(template, context)

    Template._render = render


@pytest.fixture(scope="session")
def django_db_modify_db_settings(django_db_modify_db_settings_parallel_suffix):
    """The tests' own database starts as a copy of one that is migrated already."""
    if _is_a_file():
        migrated.copy_to(Path(django_settings.DATABASES["default"]["TEST"]["NAME"]))
        TransactionTestCase._fixture_teardown = lambda _: migrated.put_back(connection)


@pytest.fixture(scope="session")
def django_db_keepdb(django_db_keepdb):
    """That copy is not made empty; its folder goes away with the run."""
    return _is_a_file() or django_db_keepdb


NO_FILES = ("rules", "wording")
"""Folders whose tests store none: most of them take less time than making a folder does."""


def _room(path: Path) -> str:
    """The folder of tests/ that a test is in."""
    return path.relative_to(Path(__file__).parent).parts[0]


@pytest.fixture(autouse=True)
def _own_folder(request):
    """Each test stores its photos, papers and mail in a folder of its own."""
    if _room(request.path) in NO_FILES:
        return
    settings, tmp_path = map(request.getfixturevalue, ("settings", "tmp_path"))
    settings.READINESS_DATA = tmp_path
    settings.STORAGES = stores_in(tmp_path)


def stores_in(folder):
    """The stores of files as they are, but in this folder."""
    stores = {name: dict(store) for name, store in django_settings.STORAGES.items()}
    for name in ("default", "photos", "papers"):
        stores[name]["OPTIONS"] = {**stores[name]["OPTIONS"], "location": folder / name}
    return stores


@pytest.fixture
def mail_server(settings):
    """A real mail server, which the portal sends through."""
    server = MailServer()
    settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    settings.EMAIL_HOST, settings.EMAIL_PORT, settings.EMAIL_TIMEOUT = "127.0.0.1", server.port, 2
    settings.EMAIL_USE_TLS = settings.EMAIL_USE_SSL = False
    settings.EMAIL_HOST_USER = settings.EMAIL_HOST_PASSWORD = ""
    yield server
    server.close()


@pytest.fixture
def applicator(db):
    """The owner of the applicator's business."""
    return make_applicator(email="owner@applicator.example", is_owner=True)


@pytest.fixture
def builder(db):
    """The building company of `contact`."""
    return make_builder("Wattle Homes")


@pytest.fixture
def site(builder):
    """A site of `builder` with four walls of 12 m and nothing written about it."""
    site = make_site(builder)
    make_runs(site)
    return site


@pytest.fixture
def contact(builder):
    """A user who signs in for `builder` and sees all of its sites."""
    return make_contact(builder, email="supervisor@wattle.example")


@pytest.fixture
def other_contact(db):
    """A user of another building company: an outsider to everything of `builder`."""
    other = make_builder("Banksia Builders")
    return make_contact(other, email="supervisor@banksia.example", name="Robin Rival")


@pytest.fixture
def client_for():
    """`client_for(user)`: a browser that is signed in as the user; without one, anonymous."""

    def make(user=None):
        client = Client()
        if user is not None:
            client.force_login(user)
        return client

    return make


@pytest.fixture
def later():
    """The tables of kinds and rule values, to change as a later version might."""
    with later_version() as tables:
        yield tables


PACKAGES = {
    "nginx": "nginx-light",
    "openssl": "openssl",
    "systemd-analyze": "systemd",
    "exiftool": "libimage-exiftool-perl",
    "qpdf": "qpdf",
    "pdffonts": "poppler-utils",
    "pdfimages": "poppler-utils",
    "pdftoppm": "poppler-utils",
    "pdftotext": "poppler-utils",
}
"""Programs that tests call, and the apt package of each."""


def _skip_without_program(item):
    """A test that calls a program which is not installed is skipped, and says so."""
    try:
        return (yield)
    except FileNotFoundError as error:
        if error.filename not in PACKAGES:
            raise
        package = PACKAGES[error.filename]
        pytest.skip(f"{error.filename} is not installed (apt package: {package}).")


pytest_runtest_setup = pytest.hookimpl(wrapper=True)(_skip_without_program)
pytest_runtest_call = pytest.hookimpl(wrapper=True)(_skip_without_program)


@pytest.hookimpl(wrapper=True)
def pytest_pyfunc_call(pyfuncitem):
    """Whatever the tests of actions do leaves each site's stored rank as the rules have it.

    A test that writes rows past the actions says `@pytest.mark.rows_by_hand`.
    """
    result = yield
    used = {"db", "transactional_db"} & set(pyfuncitem.fixturenames)
    by_hand = pyfuncitem.get_closest_marker("rows_by_hand")
    if used and not by_hand and _room(pyfuncitem.path) in THROUGH_ACTIONS:
        _ranks_must_agree_with_the_rules()
    return result


THROUGH_ACTIONS = ("actions", "messages", "demo", "handover")
"""Folders whose tests change things as people do; others also arrange rows by hand."""


def _ranks_must_agree_with_the_rules():
    from readiness import clock
    from readiness.models import RecordEntry, Site
    from readiness.priorities import differences

    last = RecordEntry.objects.order_by("-at").first()  # a test may have set the clock back since
    now = max(clock.now(), last.at) if last else clock.now()
    wrong = [
        f"{site}: stored {site.need}, {site.need_first_due}, until {site.need_until}; {need}"
        for site, need in differences(Site.objects.all(), now)
    ]
    assert not wrong, "Ranks that the rules do not give: " + "; ".join(wrong)


@pytest.hookimpl(wrapper=True, optionalhook=True)
def pytest_xdist_auto_num_workers():
    """`-n auto` is one worker more than cores: some tests wait for a server, browser or clock."""
    workers = yield
    return workers if "PYTEST_XDIST_AUTO_NUM_WORKERS" in os.environ else workers + 1


STARTED_FIRST = (
    "operations/test_many_machines.py",
    "test_postgres.py",
    "operations/test_restore_drill.py",
    "operations",
    "browser",
)
"""Where the tests are that take longest, the longest first."""


@pytest.hookimpl(trylast=True)
def pytest_collection_modifyitems(items):
    """What takes long starts early, so that no worker is still at it when the others are done."""
    tests = Path(__file__).parent

    def place(item):
        name = item.path.relative_to(tests).as_posix() if item.path.is_relative_to(tests) else ""
        found = (n for n, start in enumerate(STARTED_FIRST) if name.startswith(start))
        return next(found, len(STARTED_FIRST))

    items.sort(key=place)


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item, call):
    """With READINESS_NO_SKIPS set, a skipped test is a failed one."""
    report = yield
    if report.skipped and os.environ.get("READINESS_NO_SKIPS") and not hasattr(report, "wasxfail"):
        report.outcome = "failed"
        report.longrepr = f"Skipped where nothing may be skipped: {report.longrepr}"
    return report
