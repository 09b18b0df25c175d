"""Makes README's pictures anew from the demo: `python -m tests.readme_pictures`.

A site's page on a phone, a wall with its line, and page one of a report. Look at them afterwards.
"""

import io
import os
import re
import shutil
import socket
import subprocess
import sys
import tempfile
from pathlib import Path

from PIL import Image
from playwright.sync_api import Browser, Page, sync_playwright

from tests.browser.chromium import CHROMIUM, SWITCHES

ROOT = Path(__file__).resolve().parent.parent
PICTURES = ROOT / "portal" / "static" / "portal" / "readme"
PHONE = {"width": 390, "height": 844}
DESK = {"width": 1280, "height": 900}
SITE = "12 Lyrebird Crescent"
MOST_BYTES = 300_000


def main() -> None:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    with tempfile.TemporaryDirectory() as data:
        demo = subprocess.Popen(
            [sys.executable, "manage.py", "demo", "--port", str(port)],
            cwd=ROOT,
            env={**os.environ, "READINESS_DATA": os.environ.get("DEMO_DATA", data)},
            stdout=subprocess.PIPE,
            text=True,
        )
        try:
            office, builder = links(demo)
            with sync_playwright() as playwright:
                program = None if CHROMIUM == "playwright" else shutil.which(CHROMIUM)
                browser = playwright.chromium.launch(executable_path=program, args=SWITCHES)
                take(browser, office, builder)
        finally:
            demo.terminate()
            demo.wait()
    total = sum(path.stat().st_size for path in PICTURES.iterdir())
    assert total < MOST_BYTES, f"{total} bytes of pictures are too many."


def links(demo: subprocess.Popen) -> tuple[str, str]:
    """The demo's sign-in links of the applicator and of the builder's contact."""
    found: list[str] = []
    for line in demo.stdout:
        found += re.findall(r"http://\S+/demo/\S+", line)
        if len(found) == 3:
            return found[0], found[1]
    raise SystemExit("The demo did not start.")


def take(browser: Browser, office: str, builder: str) -> None:
    PICTURES.mkdir(exist_ok=True)
    phone = signed_in(browser, builder, PHONE)
    phone.get_by_role("link", name=re.compile(SITE)).first.click()
    keep("site-on-a-phone", phone.screenshot())
    desk = signed_in(browser, office, DESK)
    desk.goto("/office/sites/?q=" + SITE.replace(" ", "+"))
    desk.get_by_role("link", name=re.compile(SITE)).first.click()
    site = re.search("[0-9a-f-]{36}", desk.url)[0]
    desk.goto(f"/papers/sites/{site}/")
    report = desk.get_by_role("link", name="Site report").first.get_attribute("href")
    desk.goto(f"/office/levels/{site}/")
    desk.get_by_role("link", name=re.compile("Tap side")).first.click()
    keep("wall-and-its-line", desk.locator(".level-drawing svg").first.screenshot())
    keep("page-one-of-a-report", page_one(desk.request.get(report).body()))


def signed_in(browser: Browser, link: str, size: dict) -> Page:
    base = link.split("/accounts/")[0]
    context = browser.new_context(viewport=size, base_url=base, device_scale_factor=1.5)
    page = context.new_page()
    page.goto(link)
    page.wait_for_load_state()
    return page


def page_one(pdf: bytes) -> bytes:
    """The first page as a picture."""
    command = ["pdftoppm", "-png", "-r", "80", "-f", "1", "-l", "1", "-"]
    return subprocess.run(command, input=pdf, capture_output=True, check=True).stdout


def keep(name: str, picture: bytes) -> None:
    Image.open(io.BytesIO(picture)).convert("RGB").save(
        PICTURES / f"{name}.webp", quality=82, method=6
    )


if __name__ == "__main__":
    main()
