"""What gets onto brickwork: mortar drops and smears, mud, splashes, water, cracks, sealant."""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from .canvas import Canvas, linear, shaded, step

WET_MORTAR = linear(184, 178, 166)
MUD = linear(128, 94, 62)


def blob(
    canvas: Canvas, x_mm, y_mm, radius_mm, colour=WET_MORTAR, *, tall_mm=None, on_ground=False
):
    """A lump stuck to the wall, with an uneven outline and a rough top."""
    reach = radius_mm * 1.9 + 4
    window = canvas.window(x_mm - reach, y_mm - reach, x_mm + reach, y_mm + reach)
    x, y = canvas.x_mm[:, window[1]] - x_mm, canvas.y_mm[window[0]] - y_mm
    lumps = canvas.noise("fill", 11)[window] + canvas.noise("fill-fine", 4)[window] * 0.5
    grit = canvas.noise("grit", 1.2)[window]
    off = np.hypot(x, y) / radius_mm + lumps * 0.30
    mask = step(1 - off, 2.2 / radius_mm)
    dome = np.sqrt(np.clip(1 - off * off, 0, 1))
    tall = radius_mm * 0.55 if tall_mm is None else tall_mm
    canvas.blend(mask, shaded(colour, 1 + lumps * 0.07 + grit * 0.10), window)
    part = canvas.relief[window]
    height = 1 + dome * tall + lumps * 1.6 + grit * 0.4
    if on_ground:
        part += height * mask
    else:
        part += (np.maximum(height, part * 0.3) - part) * mask


def smear(canvas: Canvas, start, end, width_mm, colour=WET_MORTAR, *, strength=0.85):
    """A streak where a trowel or a falling lump dragged mortar over the bricks."""
    (x0, y0), (x1, y1) = start, end
    reach = width_mm * 1.5 + 5
    window = canvas.window(
        min(x0, x1) - reach, min(y0, y1) - reach, max(x0, x1) + reach, max(y0, y1) + reach
    )
    x, y = canvas.x_mm[:, window[1]] - x0, canvas.y_mm[window[0]] - y0
    dx, dy = x1 - x0, y1 - y0
    share = np.clip((x * dx + y * dy) / max(dx * dx + dy * dy, 1e-6), 0, 1)
    off = np.hypot(x - share * dx, y - share * dy) / (width_mm / 2 * (1.1 - 0.6 * share))
    drag = canvas.noise("drag", 3, stretch=0.2)[window] + canvas.noise("clay", 6)[window]
    mask = step(1 - off + drag * 0.45, 0.5) * np.clip(1.1 - share * 0.7 + drag * 0.2, 0, 1)
    mask = np.clip(mask * strength, 0, 1)
    canvas.blend(mask, shaded(colour, 1 + drag * 0.08), window)
    canvas.relief[window] += mask * (1.4 + drag * 0.8)


def drops(canvas: Canvas, count, box, sizes_mm=(7, 24), colour=WET_MORTAR, name="drops"):
    """Mortar dropped and flicked on the wall within a box (left, bottom, right, top) in mm."""
    rng = canvas.rng(name)
    left, bottom, right, top = box
    for _ in range(count):
        x, y = rng.uniform(left, right), rng.uniform(bottom, top)
        radius = sizes_mm[0] * (sizes_mm[1] / sizes_mm[0]) ** (rng.random() ** 1.5)
        if radius > 11 and rng.random() < 0.6:
            run = rng.uniform(1.5, 4) * radius
            smear(canvas, (x, y), (x + rng.uniform(-6, 6), y - run), radius * 1.3)
        blob(canvas, x, y, radius, colour)


def splash(canvas: Canvas, centre, reach_mm, colour, *, amount=1.0, name="splash", count=420):
    """Spatter thrown outwards from a point: fine near its edge, run together at its heart."""
    rng = canvas.rng(name)
    window = canvas.window(
        centre[0] - reach_mm * 1.3,
        centre[1] - reach_mm * 1.3,
        centre[0] + reach_mm * 1.3,
        centre[1] + reach_mm * 1.3,
    )
    x, y = canvas.x_mm[:, window[1]] - centre[0], canvas.y_mm[window[0]] - centre[1]
    patchy = (
        canvas.noise(name + "-heart", 45)[window] + canvas.noise(name + "-rim", 12)[window] * 0.5
    )
    heart = np.clip(1 - np.hypot(x, y) / (reach_mm * 0.75) + patchy * 0.45, 0, 1) * amount * 0.75
    heart = np.clip(heart, 0, 0.85)
    canvas.blend(heart, shaded(colour, 1 + patchy * 0.12), window)
    canvas.relief[window] += heart * (0.8 + patchy * 0.7)
    for _ in range(int(count * amount)):
        angle, far = rng.uniform(0, 2 * np.pi), reach_mm * rng.random() ** 0.6
        size = 0.8 + 4.5 * rng.random() ** 5 + 1.2 * (1 - far / reach_mm)
        spot(
            canvas,
            centre[0] + np.cos(angle) * far,
            centre[1] + np.sin(angle) * far,
            size,
            np.rad2deg(angle),
            colour,
        )


def spot(canvas, x_mm, y_mm, radius_mm, degrees, colour):
    """One flat drop, drawn out along its flight."""
    reach = radius_mm * 2.2 + 1
    window = canvas.window(x_mm - reach, y_mm - reach, x_mm + reach, y_mm + reach)
    x, y = canvas.x_mm[:, window[1]] - x_mm, canvas.y_mm[window[0]] - y_mm
    angle = np.deg2rad(degrees)
    along = (x * np.cos(angle) + y * np.sin(angle)) / 1.7
    over = y * np.cos(angle) - x * np.sin(angle)
    mask = step(radius_mm - np.hypot(along, over), 1.2) * 0.85
    canvas.blend(mask, colour, window)
    canvas.relief[window] += mask * 0.9


def runs(canvas: Canvas, box, count, colour, *, name="runs", strength=0.5):
    """Thin streaks that ran down the wall before they dried."""
    rng = canvas.rng(name)
    left, bottom, right, top = box
    for _ in range(count):
        x, y = rng.uniform(left, right), rng.uniform(bottom + (top - bottom) * 0.4, top)
        end = (x + rng.uniform(-4, 4), max(bottom, y - rng.uniform(60, 260)))
        smear(canvas, (x, y), end, rng.uniform(5, 13), colour, strength=strength)


def grime(canvas: Canvas, top_mm, colour=MUD, *, strength=0.8, name="grime"):
    """A band of mud and dust over the foot of the wall, thinning out upwards."""
    patch = canvas.noise(name, 110, stretch=1.4) + canvas.noise(name + "-fine", 22) * 0.6
    grit = canvas.noise("grit", 1.2) * 0.25 + canvas.noise("clay", 6) * 0.3
    fade = np.clip((top_mm - canvas.y_mm) / top_mm, 0, 1)
    mask = np.clip((fade * 1.5 + patch * 0.45 + grit * 0.5 - 0.25) * strength, 0, 0.88)
    mask = mask.astype(np.float32)
    canvas.blend(mask, shaded(colour, 1 + patch * 0.10 + grit * 0.2))
    canvas.relief += mask * (0.8 + patch * 0.8 + grit * 0.8)


def haze(canvas: Canvas, *, strength=0.5, name="haze", colour=None):
    """The milky film that cement slurry leaves on brick faces."""
    colour = linear(214, 208, 198) if colour is None else colour
    patch = canvas.noise(name, 170, stretch=1.5) + canvas.noise(name + "-wipe", 26, stretch=3) * 0.6
    mask = np.clip(0.35 + patch * 0.5, 0, 1) * strength
    canvas.blend(mask.astype(np.float32), colour)


def soak(canvas: Canvas, edge_mm, *, strength=1.0, name="soak"):
    """Water on the wall below an uneven tide line: darker, deeper colour, some shine."""
    patch = canvas.noise(name, 90) * 34 + canvas.noise(name + "-fine", 16) * 9
    fingers = canvas.noise(name + "-fingers", 26, stretch=0.5)[:1]
    below = edge_mm - np.clip(fingers, 0, 2) * -30 + patch - canvas.y_mm
    mask = (step(below, 26) * strength).astype(np.float32)
    canvas.albedo *= (1 - 0.62 * mask)[..., None]
    grey = canvas.albedo.mean(axis=2, keepdims=True)
    canvas.albedo += (canvas.albedo - grey) * (0.35 * mask)[..., None]
    canvas.shine(mask * 0.75)
    np.clip(canvas.albedo, 0, 1, out=canvas.albedo)


def crack(canvas: Canvas, points, width_mm=1.4):
    """A fine crack along points (mm): dark, a little ragged, with crumbled lips."""
    near, window = _near(canvas, points, 14)
    mask = step(width_mm / 2 - near, 0.9)
    lips = step(width_mm * 2.2 - near + canvas.noise("clay", 6)[window] * 2, 2) * 0.25
    canvas.albedo[window] *= (1 - lips)[..., None]
    canvas.blend(mask, linear(30, 26, 24), window)
    canvas.relief[window] -= mask * 10


def bead(canvas: Canvas, points, width_mm, colour, *, sunk_mm=1.5):
    """Flexible sealant tooled along points (mm): smooth, slightly hollow, clean edges."""
    near, window = _near(canvas, points, width_mm + 4, wander_mm=0.4)
    mask = step(width_mm / 2 - near, 1.2)
    ripple = canvas.noise("ripple", 40)[window]
    canvas.blend(mask, shaded(colour, 1 + ripple * 0.03), window)
    hollow = -sunk_mm + (near / (width_mm / 2)) ** 2 * 1.2 + ripple * 0.25
    part = canvas.relief[window]
    part += (hollow - part) * mask
    canvas.shine(mask * 0.22, window)


def _near(canvas, points, margin_mm, wander_mm=1.1):
    """Distance in mm of each pixel from a ragged line through points."""
    xs, ys = zip(*points, strict=True)
    window = canvas.window(
        min(xs) - margin_mm, min(ys) - margin_mm, max(xs) + margin_mm, max(ys) + margin_mm
    )
    wander = (
        canvas.noise("wander", 9)[window] * wander_mm + canvas.noise("ragged-fine", 3)[window] * 0.4
    )
    x, y = canvas.x_mm[:, window[1]] + wander, canvas.y_mm[window[0]] + wander
    near = np.full(x.shape, 1e3, np.float32)
    for (x0, y0), (x1, y1) in pairwise(points):
        dx, dy = x1 - x0, y1 - y0
        share = np.clip(((x - x0) * dx + (y - y0) * dy) / max(dx * dx + dy * dy, 1e-6), 0, 1)
        near = np.minimum(near, np.hypot(x - x0 - share * dx, y - y0 - share * dy))
    return near, window
