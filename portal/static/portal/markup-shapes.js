// The shapes of a markup: how they begin, follow the finger, are put right and are drawn. Places
// are shares of the picture; paths are in its pixels, by a View (photo-view.js).
//
//   {kind: "arrow", from, to}                    {kind: "dimension", from, to, text}
//   {kind: "circle" | "blur", box: [x1, y1, x2, y2]}          {kind: "text", at, text}

export const HAVE_WORDS = ["text", "dimension"];

export function started(kind, at, text) {
  if (kind === "circle" || kind === "blur") return { kind, box: [...at, ...at] };
  if (kind === "text") return { kind, at, text };
  return { kind, from: at, to: at, ...(kind === "dimension" ? { text } : {}) };
}

// With its end at another place.
export function stretched(shape, at) {
  if (shape.box) return { ...shape, box: [...shape.box.slice(0, 2), ...at] };
  return shape.at ? { ...shape, at } : { ...shape, to: at };
}

// A box from its top left to its bottom right corner, whichever way it was dragged.
export function ordered(shape) {
  if (!shape.box) return shape;
  const [a, b, c, d] = shape.box;
  return { ...shape, box: [Math.min(a, c), Math.min(b, d), Math.max(a, c), Math.max(b, d)] };
}

// The places by which it is taken hold of.
export function handles(shape) {
  if (shape.box) return [shape.box.slice(0, 2), shape.box.slice(2)];
  return shape.at ? [shape.at] : [shape.from, shape.to];
}

export function withHandle(shape, index, at) {
  if (shape.at) return { ...shape, at };
  if (shape.box) {
    const box = index ? [...shape.box.slice(0, 2), ...at] : [...at, ...shape.box.slice(2)];
    return { ...shape, box };
  }
  return { ...shape, [index ? "to" : "from"]: at };
}

// Whether somebody tapped where dragging was meant.
export function isTooSmall(shape, view) {
  if (shape.at) return false;
  const [one, other] = handles(shape);
  if (!shape.box) return view.distance(one, other) < view.unit;
  const [[x1, y1], [x2, y2]] = [view.pixels(one), view.pixels(other)];
  return Math.min(Math.abs(x1 - x2), Math.abs(y1 - y2)) < view.unit;
}

// --- as paths ---------------------------------------------------------------------------------

function arrowHead([x1, y1], [x2, y2], unit) {
  const angle = Math.atan2(y2 - y1, x2 - x1);
  const head = Math.min(4 * unit, 0.5 * Math.hypot(x2 - x1, y2 - y1));
  return [Math.PI / 7, -Math.PI / 7]
    .map((turn) => [-head * Math.cos(angle + turn), -head * Math.sin(angle + turn)])
    .map(([dx, dy]) => `M${x2} ${y2}l${dx} ${dy}`)
    .join("");
}

function endTicks([x1, y1], [x2, y2], unit) {
  const across = Math.atan2(y2 - y1, x2 - x1) + Math.PI / 2;
  const [dx, dy] = [1.5 * unit * Math.cos(across), 1.5 * unit * Math.sin(across)];
  return [
    [x1, y1],
    [x2, y2],
  ]
    .map(([x, y]) => `M${x - dx} ${y - dy}L${x + dx} ${y + dy}`)
    .join("");
}

export function linePath(shape, view) {
  const [from, to] = [view.pixels(shape.from), view.pixels(shape.to)];
  const ends = shape.kind === "arrow" ? arrowHead : endTicks;
  return `M${from.join(" ")}L${to.join(" ")}${ends(from, to, view.unit)}`;
}

// {left, top, width, height} in pixels.
export function frame(shape, view) {
  const [[left, top], [right, bottom]] = handles(shape).map((at) => view.pixels(at));
  return { left, top, width: right - left, height: bottom - top };
}

export function ellipsePath(shape, view) {
  const { left, top, width, height } = frame(shape, view);
  const [rx, ry] = [width / 2, height / 2];
  return `M${left} ${top + ry}a${rx} ${ry} 0 1 0 ${width} 0a${rx} ${ry} 0 1 0 ${-width} 0z`;
}

// Where the words of a dimension stand: over its middle.
export function wordsAt(shape, view) {
  const [[x1, y1], [x2, y2]] = [view.pixels(shape.from), view.pixels(shape.to)];
  return [(x1 + x2) / 2, (y1 + y2) / 2 - 0.015 * view.height];
}

// The text-anchor with which words at that x stay in the picture.
export function anchorAt(x, view) {
  if (x < view.width * 0.33) return "start";
  return x > view.width * 0.67 ? "end" : "middle";
}
