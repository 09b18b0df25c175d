// The arithmetic of measuring on a photo that is done on the phone: what was typed about the thing
// of known size, and the marks as paths in the picture's pixels, by a View (photo-view.js). The
// distance itself, and how sure it is, is the server's to work out.

export const CORNERS = 4;
export const MARKS = 6; // and the two ends of the distance

// As typed: a number input takes "297,5" for 2975. What is no number is NaN: it goes to the server
// as null, which names it.
export function millimetres(typed) {
  const digits = typed.trim().replace(/\s*mm$/i, "");
  return Number(digits.replace(",", "."));
}

// What is marked, of known size; `fields` is the form's FormData.
export function reference(fields) {
  const number = (name) => Number(fields.get(name)) || 0;
  const mm = (name) => millimetres(fields.get(name));
  const kind = fields.get("reference");
  if (fields.get("wanted") === "gauge" || kind === "courses") {
    return { kind: "courses", courses: number("many") };
  }
  if (kind === "bricks") return { kind, bricks: number("bricks"), courses: number("courses") };
  if (kind === "known") {
    const size = { width_mm: mm("width_mm"), height_mm: mm("height_mm") };
    return { kind, ...size, tolerance_mm: mm("tolerance_mm") };
  }
  return { kind };
}

function many(count, word) {
  return `${count} ${word}${count === 1 ? "" : "s"}`;
}

export function referenceWords({ kind, bricks, courses }) {
  if (kind === "courses") return courses ? many(courses, "course") : "the courses";
  if (kind === "bricks") return `${many(bricks, "brick")} along and ${many(courses, "course")} up`;
  return kind === "brick" ? "one brick" : "the thing of known size";
}

// What goes to the server: four corners from the top left one round, then two ends, and how each of
// the six was set. The version is that of `readiness/photos/marks_sent.py`.
export function question(points, set, fields) {
  const wanted = fields.get("wanted");
  const asked = {
    version: 2,
    wanted,
    corners: points.slice(0, CORNERS),
    start: points[CORNERS],
    end: points[CORNERS + 1],
    set,
    reference: reference(fields),
  };
  if (wanted !== "gauge") return { ...asked, direction: fields.get("direction") };
  const mm = (name) => millimetres(fields.get(name) || "");
  return { ...asked, known: { length_mm: mm("length_mm") || null, tolerance_mm: mm("off_mm") } };
}

// A distance has no direction of its own: that is asked, never guessed.
export function needsDirection(fields) {
  return fields.get("wanted") !== "gauge" && !fields.get("direction");
}

// How a mark was set: with the loupe only where it was held long enough to be looked through.
export const LOUPE_MS = 500;

export function howSet(stage, heldMs) {
  return { shown_px: stage.shownPx, zoom: stage.view.zoom, loupe: heldMs >= LOUPE_MS };
}

// The circle of a photo's marks round an outline of four places.
export function circleRound(outline) {
  const [xs, ys] = [0, 1].map((part) => outline.map((place) => place[part]));
  const inside = (value) => Math.min(1, Math.max(0, value));
  const box = [Math.min(...xs) - 0.005, Math.min(...ys) - 0.005];
  return {
    kind: "circle",
    box: [...box, Math.max(...xs) + 0.005, Math.max(...ys) + 0.005].map(inside),
  };
}

// --- as paths ---------------------------------------------------------------------------------

export function through(places, view, isClosed) {
  const path = places.map((at, index) => `${index ? "L" : "M"}${view.pixels(at).join(" ")}`);
  return path.join("") + (isClosed ? "Z" : "");
}

// The frame as far as it is marked, and the distance.
export function linePaths(points, view) {
  const corners = points.slice(0, CORNERS);
  const paths = points.length > 1 ? [through(corners, view, corners.length === CORNERS)] : [];
  if (points.length === MARKS) paths.push(through(points.slice(CORNERS), view, false));
  return paths;
}

// A corner is an upright cross, an end of the distance a slanting one.
export function crossPath(at, index, arm, view) {
  const [x, y] = view.pixels(at);
  if (index < CORNERS) return `M${x - arm} ${y}h${2 * arm}M${x} ${y - arm}v${2 * arm}`;
  const [left, right, top] = [x - arm, x + arm, y - arm];
  return `M${left} ${top}l${2 * arm} ${2 * arm}M${right} ${top}l${-2 * arm} ${2 * arm}`;
}
