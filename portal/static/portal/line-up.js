// Laying one photo over another by places that were marked on both.

// Complex numbers: to = m * from + k. A turn, a size and a shift.
function byTwo([p, q], [r, s]) {
  const [ux, uy] = [q[0] - p[0], q[1] - p[1]];
  const [vx, vy] = [s[0] - r[0], s[1] - r[1]];
  const length = ux * ux + uy * uy;
  if (!length) return null;
  const [a, b] = [(vx * ux + vy * uy) / length, (vy * ux - vx * uy) / length];
  return [a, b, -b, a, r[0] - a * p[0] + b * p[1], r[1] - b * p[0] - a * p[1]];
}

// And a slant.
function byThree([p, q, r], to) {
  const whole = (q[0] - p[0]) * (r[1] - p[1]) - (r[0] - p[0]) * (q[1] - p[1]);
  if (Math.abs(whole) < 1) return null; // on one line
  const solve = (axis) => {
    const [u, v] = [to[1][axis] - to[0][axis], to[2][axis] - to[0][axis]];
    const alongX = (u * (r[1] - p[1]) - v * (q[1] - p[1])) / whole;
    const alongY = (v * (q[0] - p[0]) - u * (r[0] - p[0])) / whole;
    return [alongX, alongY, to[0][axis] - alongX * p[0] - alongY * p[1]];
  };
  const [[a, c, e], [b, d, f]] = [solve(0), solve(1)];
  return [a, b, c, d, e, f];
}

// The map [a, b, c, d, e, f] (as in CSS matrix()) from before to after, in pixels, by two or three
// pairs of places [before, after], each a share of its picture, whose sizes are in pixels. Null
// where there are too few, or where they say nothing (all on one place, three on one line).
export function lineUp(pairs, size) {
  if (pairs.length < 2) return null;
  const scaled = (side, [width, height]) =>
    pairs.map((pair) => [pair[side][0] * width, pair[side][1] * height]);
  const [from, to] = [scaled(0, size.before), scaled(1, size.after)];
  return pairs.length === 2 ? byTwo(from, to) : byThree(from, to);
}

// As they are, one stretched to the size of the other.
export function laidOver({ before, after }) {
  return [after[0] / before[0], 0, 0, after[1] / before[1], 0, 0];
}
