"""Real Chromium against a live server: one browser a session, people signed in by their cookie."""

import os
import shutil

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.conf import settings
from django.core.cache import cache
from django.test import Client
from playwright.sync_api import expect, sync_playwright

from tests.browser.chromium import CHROMIUM, SWITCHES
from tests.browser.slow_server import slow_down
from tests.proving import proved

PATIENCE_MS = 40_000  # a busy machine is slow; only a screen that is wrong takes this long
PHONE = {"width": 390, "height": 844}
DESK = {"width": 1280, "height": 800}
SIZES = pytest.mark.parametrize(
    "size",
    [pytest.param(PHONE, id="phone"), pytest.param(DESK, id="desk", marks=pytest.mark.long)],
)
"""Of a walk through screens: the small one breaks first, the large one is for the long tests."""
WCAG_AA = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
SQUEEZED = """[...document.querySelectorAll("label, legend, p, li, dt, dd, td, th, h1, h2, h3, a")]
    .filter(element => {
        const {width, height} = element.getBoundingClientRect();
        return (element.innerText || "").trim().length > 12 && width < 40 && height > 80;
    }).map(element => element.innerText.trim().slice(0, 40))"""

expect.set_options(timeout=PATIENCE_MS)

if "SLOW_SERVER" in os.environ:
    slow_down(int(os.environ["SLOW_SERVER"]))

# Playwright's loop runs in this thread; the tests' own queries still belong here.
os.environ.setdefault("DJANGO_ALLOW_ASYNC_UNSAFE", "true")


def pytest_collection_modifyitems(items):
    """Everything in this folder drives a browser."""
    for item in items:
        if "tests/browser/" in item.path.as_posix():
            item.add_marker(pytest.mark.browser)


def tick_all(page, count):
    """Tick each of the page's `count` boxes, once they are all there."""
    boxes = page.get_by_role("checkbox")
    expect(boxes).to_have_count(count)
    for box in boxes.all():
        box.check()


def lose_the_answer(page, address, times=1):
    """What is sent to the address gets there, and its answer never comes back.

    So many `times`; None for as long as the page's routes are left as they are.
    """

    def lose(route):
        if route.request.method == "POST":
            route.fetch(max_redirects=0)
            route.abort("connectionreset")
        else:
            route.continue_()

    page.route(address, lose, times=times)


@pytest.fixture(autouse=True)
def _no_papers(monkeypatch):
    """Papers have tests of their own; making them here would only take time."""
    monkeypatch.setattr("readiness.actions.papers.asking.enqueue", lambda paper: None)


@pytest.fixture(scope="session")
def chromium():
    """One browser for the whole run."""
    program = None if CHROMIUM == "playwright" else shutil.which(CHROMIUM)
    if CHROMIUM != "playwright" and program is None:
        pytest.skip(f"{CHROMIUM} is not installed (its apt package), nor named by CHROMIUM.")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=program, args=SWITCHES)
        yield browser
        browser.close()


@pytest.fixture
def open_as(chromium, live_server):
    """`open_as(user, path, size=PHONE, **options)`: a page on which the user is signed in.

    The page fails the test on an error of its scripts or of the content security policy. Options
    go to Playwright's `new_context` (`java_script_enabled=False`, for one).
    """
    contexts, complaints = [], []

    def open_page(user=None, path="/", size=PHONE, **options):
        touch = size["width"] < 600
        context = chromium.new_context(
            viewport=size, base_url=live_server.url, has_touch=touch, **options
        )
        context.set_default_timeout(PATIENCE_MS)
        contexts.append(context)
        if user is not None:
            client = Client()
            client.force_login(user)
            if not user.is_applicator:
                proved(client, user)
            cookie = client.cookies[settings.SESSION_COOKIE_NAME].value
            context.add_cookies(
                [
                    {
                        "name": settings.SESSION_COOKIE_NAME,
                        "value": cookie,
                        "url": live_server.url,
                    }
                ]
            )
        page = context.new_page()
        page.on("pageerror", lambda error: complaints.append(str(error)))
        page.on(
            "console",
            lambda said: complaints.append(said.text) if "Content Security" in said.text else None,
        )
        page.goto(path)
        return page

    yield open_page
    for context in contexts:
        context.close()
    cache.clear()  # codes that were sent count against the limits of later tests, which roll back
    assert not complaints, complaints


@pytest.fixture(scope="session")
def axe():
    """`axe(page)`: no violation of WCAG 2.2 AA on the page as it stands, and no text squeezed."""
    script = Axe().axe_script
    options = {"runOnly": {"type": "tag", "values": WCAG_AA}, "resultTypes": ["violations"]}

    def check(page):
        page.wait_for_load_state()
        # A colour on its way to another, as under a pointer that just came there, is neither.
        page.emulate_media(reduced_motion="reduce")
        page.evaluate(script)
        # Only what is wrong is told in full and sent here: half the work.
        violations = page.evaluate("o => axe.run(o).then(told => told.violations)", options)
        found = [
            f"{page.url}: {violation['id']}: {violation['help']}\n    "
            + "\n    ".join(node["html"][:300] for node in violation["nodes"][:3])
            for violation in violations
        ]
        assert not found, "\n".join(found)
        squeezed = page.evaluate(SQUEEZED)
        assert not squeezed, f"{page.url}: text in a column of one letter: {squeezed}"

    return check
