"""Joints that look open: how many are found, and how much else is outlined.

    .venv/bin/python tests/bench/bench_open_joints.py [FOLDER]

On the demo's drawn photos, against what a person saw there (`open_joints_seen.py`); on walls drawn
from numbers, which nobody looked at when the thresholds were chosen; and on the one real photo of
brickwork with a free licence that is to be had as a package (CC0, in scikit-image), which has no
open joint. FOLDER may hold more real photos as JPEG, each with a JSON file of the same name:
{"corners": [[x, y] * 4], "courses": 8, "open": [[x, y], ...]} in pixels.

The thresholds were chosen on the drawn photos, so their numbers flatter. Recall is what was found
of the open joints; precision is how many outlines are on an open joint or a weep hole.
"""

import hashlib
import json
import sys
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
from PIL import Image

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from readiness.photos import joints, open_joints
from tests.bench.open_joints_seen import PHOTOS
from tests.photos.brickwork import Wall, camera_at
from tests.photos.real_brickwork import PATCHES, picture

PICTURES = Path(__file__).resolve().parents[2] / "readiness" / "demo" / "pictures"
REACH_PX = 12
SIZE_PX, WALLS = (1600, 1200), 30


@dataclass
class Tally:
    """Counts over photos."""

    photos: int = 0
    changed: int = 0
    open: int = 0
    open_found: int = 0
    weeps: int = 0
    weeps_found: int = 0
    outlines: int = 0
    others: list[str] = field(default_factory=list)

    def add(self, name: str, outlines, open_at, weeps) -> None:
        self.photos += 1
        self.open += len(open_at)
        self.weeps += len(weeps)
        self.open_found += sum(any(on(each, at) for each in outlines) for at in open_at)
        self.weeps_found += sum(any(on(each, at) for each in outlines) for at in weeps)
        self.outlines += len(outlines)
        for each in outlines:
            if not any(on(each, at) for at in (*open_at, *weeps)):
                self.others.append(f"{name} at {each.mean(0).round().astype(int).tolist()}")

    def say(self, what: str) -> None:
        print(f"{what}: {self.photos} photos, {self.changed} left out as drawn anew")
        print(f"  open joints found {self.open_found} of {self.open}", end="")
        print(f", weep holes found {self.weeps_found} of {self.weeps}")
        right = self.outlines - len(self.others)
        share = f"{right / self.outlines:.0%}" if self.outlines else "none made"
        print(f"  outlines {self.outlines}: {right} on one of them ({share}); elsewhere:")
        print("".join(f"    {other}\n" for other in self.others) or "    none\n", end="")


def on(outline: np.ndarray, at) -> bool:
    low, high = outline.min(0) - REACH_PX, outline.max(0) + REACH_PX
    return bool((low <= at).all() and (at <= high).all())


def outlined(grey: np.ndarray, corners, courses: int) -> list[np.ndarray]:
    """As the decoder process does it: nothing where the joints do not fit the courses."""
    found = joints.find(grey, np.array(corners, float), courses)
    return open_joints.find(grey, found.grid, courses) if found.fits else []


def grey_of(path: Path) -> np.ndarray:
    with Image.open(path) as image:
        return np.asarray(image.convert("L"), np.float32)


def drawn_photos() -> Tally:
    tally = Tally()
    for seen in PHOTOS:
        path = PICTURES / f"{seen.name}.webp"
        if not path.exists() or not digest_of(path).startswith(seen.digest):
            tally.changed += 1
            continue
        tally.add(
            seen.name, outlined(grey_of(path), seen.places, seen.courses), seen.open, seen.weeps
        )
    return tally


def digest_of(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()


def walls_from_numbers(count: int = WALLS, seed: int = 3) -> Tally:
    """Walls with two open perpends and one open bed joint each, 10 courses of them marked."""
    random, tally = np.random.default_rng(seed), Tally()
    for number in range(count):
        wall = Wall(
            seed=number, wander_mm=random.uniform(0, 3), brick=int(random.integers(70, 140))
        )
        middle = wall.length_mm / 2
        course = [int(random.integers(9, 12)), int(random.integers(13, 17))]
        wall.open_perpends = [(each, float(near(wall, each, middle))) for each in course]
        joint, start = int(random.integers(10, 16)), middle - random.uniform(0, 300)
        wall.open_beds = [(joint, start, start + random.uniform(120, 500))]
        camera = camera_at(random, wall, SIZE_PX)
        top, bottom, left, right = wall.beds[8], wall.beds[18], middle - 500, middle + 500
        corners = np.array([[left, top], [right, top], [right, bottom], [left, bottom]])
        bed = [(start + wall.open_beds[0][2]) / 2, wall.beds[joint]]
        perpends = [
            [x, (wall.beds[each] + wall.beds[each + 1]) / 2] for each, x in wall.open_perpends
        ]
        at = camera.project(np.array([bed, *perpends]))
        grey = wall.seen(camera, SIZE_PX).astype(float)
        tally.add(f"wall {number}", outlined(grey, camera.project(corners), 10), at, [])
    return tally


def near(wall: Wall, course: int, x: float) -> float:
    perpends = wall.perpends(course)
    return perpends[np.abs(perpends - x).argmin()]


def real_photos(folder: Path | None) -> Tally:
    tally = Tally()
    for name, (corners, courses) in PATCHES.items():
        tally.add(name, outlined(picture(), corners, courses), [], [])
    tally.photos = 1
    for path in sorted(folder.glob("*.jpg")) if folder else ():
        said = json.loads(path.with_suffix(".json").read_text())
        tally.add(
            path.name, outlined(grey_of(path), said["corners"], said["courses"]), said["open"], []
        )
    return tally


def main() -> None:
    drawn_photos().say("The demo's drawn photos")
    walls_from_numbers().say("Walls drawn from numbers")
    real_photos(Path(sys.argv[1]) if len(sys.argv) > 1 else None).say("Real photos")


if __name__ == "__main__":
    main()
