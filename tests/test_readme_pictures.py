"""README shows what the portal is before how to install it."""

import os
import re
import subprocess
import sys
from pathlib import Path

from PIL import Image

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text()
MOST_BYTES = 300_000


def test_the_script_that_takes_them_starts_by_itself():
    """Without the settings that tests have."""
    alone = {name: value for name, value in os.environ.items() if "DJANGO" not in name}
    subprocess.run(
        [sys.executable, "-c", "import tests.readme_pictures"], cwd=ROOT, env=alone, check=True
    )


def test_readme_has_three_pictures_that_are_there_and_small():
    pictures = [ROOT / name for name in re.findall(r'<img src="([^"]+)"', README)]
    assert len(pictures) == 3
    for picture in pictures:
        with Image.open(picture) as opened:
            opened.verify()
    assert sum(picture.stat().st_size for picture in pictures) < MOST_BYTES
    assert README.index("<img") < README.index("## Try it")
