"""Which browser is driven, and how it is started; without Django, for scripts too."""

import os
import shutil

PROGRAMS = ("chromium-headless-shell", "chromium")
"""Programs and packages of one engine in Debian. The first has no windows: pages cost a third."""
CHROMIUM = os.environ.get("CHROMIUM") or next(filter(shutil.which, PROGRAMS), PROGRAMS[0])
"""The browser's program, or `playwright` for the one that Playwright fetched."""
SWITCHES = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
