"""Running-bond brickwork, to scale: 230 x 76 mm bricks, 10 mm joints (240 x 86 mm each)."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .canvas import Canvas, linear, shaded, step

LENGTH_MM, GAUGE_MM, JOINT_MM = 240, 86, 10

# Each: three brick colours that are mixed at random, and the mortar between them.
PALETTES = (
    ((linear(144, 86, 70), linear(124, 72, 60), linear(158, 102, 82)), linear(172, 166, 154)),
    ((linear(126, 102, 86), linear(100, 80, 70), linear(146, 120, 102)), linear(178, 172, 160)),
    ((linear(196, 172, 138), linear(182, 152, 118), linear(206, 186, 156)), linear(206, 198, 184)),
    ((linear(92, 90, 92), linear(76, 76, 80), linear(112, 106, 104)), linear(160, 158, 154)),
    ((linear(156, 108, 82), linear(112, 74, 62), linear(176, 136, 108)), linear(166, 160, 148)),
)
CONCRETE = linear(168, 164, 156)
BURIED_MM = 60.0
"""Ground hides every wall this far below the ground line: no bricks are painted there."""


@dataclass
class Wall:
    """What a wall is like before anything is wrong with it.

    first_bed_mm: level of the underside of the first course above the ground line.
    weep_course: the course whose open perpends are weep holes (None: none in view).
    """

    palette: int = 0
    first_bed_mm: float = 55.0
    shift_mm: float = 0.0
    rake_mm: float = 5.0
    weep_course: int | None = 2
    damp_course: int | None = 1

    @classmethod
    def of(cls, canvas: Canvas, **changes):
        rng = canvas.rng("wall")
        wall = cls(
            palette=int(rng.integers(len(PALETTES))),
            first_bed_mm=float(rng.uniform(40, 62)),
            shift_mm=float(rng.uniform(-50, 50)),
            rake_mm=float(rng.uniform(4, 7)),
        )
        for name, value in changes.items():
            setattr(wall, name, value)
        if canvas.palette is not None:
            wall.palette = canvas.palette % len(PALETTES)
        return wall

    def bed_mm(self, course: int) -> float:
        """Level of the middle of the bed joint under a course (the first is 0)."""
        return self.first_bed_mm + course * GAUGE_MM + JOINT_MM / 2

    def perpend_mm(self, course: int, near_mm: float = 0.0) -> float:
        """Where along the wall the perpend of a course nearest to `near_mm` stands."""
        half = (course % 2) * LENGTH_MM / 2
        index = round((near_mm + self.shift_mm + half) / LENGTH_MM)
        return index * LENGTH_MM - half - self.shift_mm

    @property
    def mortar(self):
        return PALETTES[self.palette][1]


def lay(canvas: Canvas, wall: Wall):
    """Paint the sheet with brickwork on a concrete slab edge, down to where ground hides it."""
    window = canvas.band(-BURIED_MM, 1e5)

    def noise(*which, **stretch):
        return canvas.noise(*which, **stretch)[window]

    waver = noise("edge", 16) * 0.55 + noise("edge-fine", 4) * 0.22
    x = canvas.x_mm + wall.shift_mm + waver
    y = canvas.y_mm[window[0]] - wall.first_bed_mm + waver[:, ::-1] + noise("bow", 700) * 1.2
    course = np.floor(y / GAUGE_MM)
    v = y - course * GAUGE_MM
    row = course.astype(np.int16)
    along = x + (row & 1) * np.float32(LENGTH_MM / 2)
    brick = np.floor(along / LENGTH_MM)
    u = along - brick * LENGTH_MM
    column = brick.astype(np.int16)
    key = (row & 31) * 32 + (column & 31)
    rng = canvas.rng("bricks")

    def each(values):
        return values.astype(np.float32)[key]

    inset = each(rng.uniform(-0.9, 0.9, 1024))
    inside = np.minimum(
        np.minimum(u - 5, LENGTH_MM - 5 - u), np.minimum(v - JOINT_MM, GAUGE_MM - v)
    )
    inside += inset
    face = step(inside, 1.6)

    fine = noise("grit", 1.2)
    medium = noise("clay", 6)
    drag = noise("drag", 3, stretch=9)
    cloud = noise("cloud", 60, stretch=1.6)
    tone = 1 + each(rng.normal(0, 0.13, 1024)) + fine * 0.07 + medium * 0.05 + cloud * 0.10
    kiln = np.sin(u * (np.pi / 200) + each(rng.uniform(0, 6, 1024)))
    tone *= 1 - 0.16 * each(rng.uniform(0, 1, 1024) ** 2) * (1 + kiln)
    colours, mortar = PALETTES[wall.palette]
    mix = rng.dirichlet((0.7, 0.7, 0.7), 1024).astype(np.float32) @ np.array(colours)
    pit = step(noise("pits", 3.2) + cloud * 0.3 - 1.9, 0.6)
    tone *= 1 - 0.38 * pit
    sand = 1 + fine * 0.09 + noise("sand", 2.5) * 0.05 + cloud * 0.06
    canvas.albedo[window] = shaded(mortar, sand)
    clay = np.take(mix.T.astype(np.float32), key, axis=1) * tone
    canvas.blend(face, np.moveaxis(clay, 0, 2), window)

    rounded = np.clip(inside, 0, 4)
    bump = each(rng.normal(0, 0.5, 1024)) + fine * 0.10 + medium * 0.20 + drag * 0.16 - pit * 0.9
    bump -= (4 - rounded) ** 2 * 0.09
    joint = -wall.rake_mm + noise("rake", 30) * 0.8 + fine * 0.22 + medium * 0.15
    canvas.relief[window] = joint + (bump - joint) * face
    _slab_edge(canvas, wall)
    if wall.damp_course is not None:
        _damp_course(canvas, wall)
    if wall.weep_course is not None:
        for slot in (-2, 0, 2):
            weep_hole(canvas, wall, slot * 2 * LENGTH_MM)
    _dust(canvas)


def _slab_edge(canvas, wall):
    window = canvas.band(-BURIED_MM, wall.first_bed_mm + 10)
    fine, cloud = canvas.noise("grit", 1.2)[window], canvas.noise("cloud", 60, stretch=1.6)[window]
    pour = canvas.noise("pour", 40, stretch=4)[window]
    ragged = canvas.noise("slab-edge", 20)[window] * 1.5
    mask = step(wall.first_bed_mm - canvas.y_mm[window[0]] + ragged, 2)
    holes = step(canvas.noise("bubbles", 4)[window] - 1.9, 0.4)
    tone = 1 + fine * 0.07 + cloud * 0.12 + pour * 0.08
    canvas.blend(mask, shaded(CONCRETE, tone * (1 - 0.4 * holes)), window)
    part = canvas.relief[window]
    part += (2 + pour * 0.8 + fine * 0.2 - holes * 2 - part) * mask


def _damp_course(canvas, wall):
    """The black sheet whose edge shows in one bed joint."""
    level = wall.bed_mm(wall.damp_course) - 2
    window = canvas.band(level - 12, level + 12)
    y = canvas.y_mm[window[0]] + canvas.noise("sheet", 120)[window]
    mask = step(1.3 - np.abs(y - level), 1.0)
    canvas.blend(mask, linear(38, 38, 42), window)
    part = canvas.relief[window]
    part += (0.8 - part) * mask


def _dust(canvas):
    """Rain throws a little soil at the lowest part of every wall."""
    window = canvas.band(-BURIED_MM, 190)
    cloud = canvas.noise("cloud", 60, stretch=1.6)[window]
    amount = np.clip(1 - canvas.y_mm[window[0]] / 190, 0, 1) ** 2 * (0.34 + 0.2 * cloud)
    canvas.blend(np.clip(amount, 0, 0.6).astype(np.float32), linear(160, 136, 106), window)


def slot(canvas, left_mm, bottom_mm, right_mm, top_mm, depth_mm=45.0, ragged_mm=1.0):
    """Cut a hole with ragged edges into the wall; what is inside is dark mortar."""
    window = canvas.window(left_mm - 8, bottom_mm - 8, right_mm + 8, top_mm + 8)
    x, y = canvas.x_mm[:, window[1]], canvas.y_mm[window[0]]
    ragged = canvas.noise("ragged", 7)[window] + canvas.noise("ragged-fine", 3)[window] * 0.6
    inside = np.minimum(
        np.minimum(x - left_mm, right_mm - x), np.minimum(y - bottom_mm, top_mm - y)
    )
    mask = step(inside + ragged * ragged_mm, 1.4)
    deep = np.clip((inside + ragged * ragged_mm) / 4, 0, 1)
    shade = np.clip((0.35 - 0.28 * deep) * (1 + 0.25 * ragged), 0.02, 1)
    canvas.blend(mask, shaded(linear(150, 138, 120), shade), window)
    part = canvas.relief[window]
    part += (-depth_mm + ragged * 2 - part) * mask * np.clip(0.25 + deep, 0, 1)


def weep_hole(canvas, wall, near_mm, course=None):
    """An open perpend."""
    course = wall.weep_course if course is None else course
    x = wall.perpend_mm(course, near_mm)
    bottom = wall.bed_mm(course) + JOINT_MM / 2
    slot(canvas, x - 5, bottom - 1, x + 5, bottom + 74, depth_mm=60, ragged_mm=0.7)


def fill(canvas, left_mm, bottom_mm, right_mm, top_mm, colour, *, out_mm=0.0, rough=1.0):
    """Press mortar into a place: rough 1 is thrown in, 0.2 is tooled by a bricklayer."""
    margin = 12
    window = canvas.window(left_mm - margin, bottom_mm - margin, right_mm + margin, top_mm + margin)
    x, y = canvas.x_mm[:, window[1]], canvas.y_mm[window[0]]
    lumps = canvas.noise("fill", 11)[window] + canvas.noise("fill-fine", 4)[window] * 0.5
    grit = canvas.noise("grit", 1.2)[window]
    inside = np.minimum(
        np.minimum(x - left_mm, right_mm - x), np.minimum(y - bottom_mm, top_mm - y)
    )
    mask = step(inside + lumps * 2.2 * rough, 1.5)
    canvas.blend(mask, shaded(colour, 1 + lumps * 0.07 + grit * 0.08), window)
    part = canvas.relief[window]
    height = out_mm + lumps * 1.8 * rough + grit * 0.3
    part += (height - part) * mask


def render(canvas, colour, *, bottom_mm=-100.0, thickness_mm=0.0):
    """A coat of sand-finished render from `bottom_mm` up."""
    mask = step(canvas.y_mm - bottom_mm + canvas.noise("render-edge", 25) * 2.0, 2.0)
    grain = canvas.noise("grit", 1.2) * 0.5 + canvas.noise("render-sand", 2.4)
    sweep = canvas.noise("trowel", 90, stretch=2.2)
    patch = canvas.noise("patch", 300)
    tone = 1 + grain * 0.035 + sweep * 0.035 + patch * 0.04
    damp = np.clip(1 - canvas.y_mm / 160, 0, 1) ** 2 * (0.16 + 0.08 * sweep)
    canvas.blend(mask, shaded(colour, tone - damp))
    relief = thickness_mm + grain * 0.32 + sweep * 0.9 + patch * 1.2
    canvas.relief += (relief - canvas.relief) * mask


def struck_joint(canvas, level_mm, *, width_mm=9.0, depth_mm=8.0):
    """The straight groove cut into render, to which the treatment is brought."""
    window = canvas.band(level_mm - 20, level_mm + 20)
    y = canvas.y_mm[window[0]] + canvas.noise("struck", 250)[window] * 0.8
    y = y + canvas.noise("ragged-fine", 3)[window] * 0.35
    across = np.abs(y - level_mm) / (width_mm / 2)
    mask = step(1.0 - across, 0.25)
    canvas.blend(mask * 0.35, linear(120, 112, 100), window)
    part = canvas.relief[window]
    part += (-depth_mm * np.clip(1.25 - across, 0, 1) - part) * mask
