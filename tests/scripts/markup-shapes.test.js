// Marks on a photo: begun, dragged, put right, undone. Worked out by hand for a photo of 400 by 200,
// where a unit is 4 pixels.

import assert from "node:assert/strict";
import { describe, it } from "node:test";

import { History } from "../../portal/static/portal/markup-history.js";
import {
  anchorAt,
  ellipsePath,
  frame,
  handles,
  isTooSmall,
  linePath,
  ordered,
  started,
  stretched,
  withHandle,
  wordsAt,
} from "../../portal/static/portal/markup-shapes.js";
import { View } from "../../portal/static/portal/photo-view.js";

const view = new View(400, 200);
const KINDS = ["arrow", "circle", "dimension", "text", "blur"];

function dragged(kind, from, to) {
  return ordered(stretched(started(kind, from, "40 mm"), to));
}

// The numbers of a path.
function numbers(path) {
  return path.match(/-?\d+(\.\d+)?(e-?\d+)?/g).map(Number);
}

describe("a shape", () => {
  it("has what the server knows of its kind", () => {
    const found = Object.fromEntries(
      KINDS.map((kind) => [kind, dragged(kind, [0.5, 0.5], [0.2, 0.1])]),
    );
    assert.deepEqual(found, {
      arrow: { kind: "arrow", from: [0.5, 0.5], to: [0.2, 0.1] },
      circle: { kind: "circle", box: [0.2, 0.1, 0.5, 0.5] },
      dimension: { kind: "dimension", from: [0.5, 0.5], to: [0.2, 0.1], text: "40 mm" },
      text: { kind: "text", at: [0.2, 0.1], text: "40 mm" },
      blur: { kind: "blur", box: [0.2, 0.1, 0.5, 0.5] },
    });
  });

  it("is never changed itself", () => {
    for (const kind of KINDS) {
      const shape = Object.freeze(started(kind, [0.1, 0.1], ""));
      stretched(shape, [0.9, 0.9]);
      ordered(shape);
      withHandle(shape, 0, [0.9, 0.9]);
      assert.deepEqual(shape, started(kind, [0.1, 0.1], ""));
    }
  });

  it("has a box the right way round whichever way it was dragged", () => {
    const corners = [
      [
        [0.1, 0.2],
        [0.6, 0.7],
      ],
      [
        [0.6, 0.7],
        [0.1, 0.2],
      ],
      [
        [0.1, 0.7],
        [0.6, 0.2],
      ],
      [
        [0.6, 0.2],
        [0.1, 0.7],
      ],
    ];
    for (const [from, to] of corners) {
      assert.deepEqual(dragged("blur", from, to).box, [0.1, 0.2, 0.6, 0.7]);
    }
  });

  it("follows the handle that is dragged and no other", () => {
    for (const kind of KINDS) {
      const shape = dragged(kind, [0.1, 0.2], [0.6, 0.7]);
      const places = handles(shape);
      places.forEach((_, index) => {
        const moved = handles(withHandle(shape, index, [0.3, 0.4]));
        const wanted = places.map((place, at) => (at === index ? [0.3, 0.4] : place));
        assert.deepEqual(moved, wanted, `${kind} ${index}`);
      });
    }
  });

  it("is too small when somebody only tapped", () => {
    const tap = [0.5, 0.5];
    assert.deepEqual(
      KINDS.map((kind) => isTooSmall(dragged(kind, tap, [0.505, 0.505]), view)),
      [true, true, true, false, true],
    );
    assert.deepEqual(
      KINDS.map((kind) => isTooSmall(dragged(kind, tap, [0.6, 0.6]), view)),
      [false, false, false, false, false],
    );
    // A box of no height shows nothing; a line along the wall does.
    assert.equal(isTooSmall(dragged("blur", tap, [0.9, 0.5]), view), true);
    assert.equal(isTooSmall(dragged("arrow", tap, [0.9, 0.5]), view), false);
  });
});

describe("as a path", () => {
  it("an arrow runs to its point and has a head there", () => {
    const path = linePath(dragged("arrow", [0.1, 0.5], [0.5, 0.5]), view);
    assert.ok(path.startsWith("M40 100L200 100M200 100l"), path);
    const [, , , , , , dx1, dy1, , , dx2, dy2] = numbers(path);
    // Four units long, 180 / 7 degrees to each side, and back from the point.
    assert.ok(Math.abs(Math.hypot(dx1, dy1) - 16) < 1e-9);
    assert.ok(Math.abs(dx1 - -16 * Math.cos(Math.PI / 7)) < 1e-9);
    assert.ok(Math.abs(dx1 - dx2) < 1e-9 && Math.abs(dy1 + dy2) < 1e-9);
  });

  it("a short arrow has a head of half its length", () => {
    const [, , , , , , dx, dy] = numbers(linePath(dragged("arrow", [0, 0], [0.03, 0]), view));
    assert.ok(Math.abs(Math.hypot(dx, dy) - 6) < 1e-9);
  });

  it("a dimension has a tick across each end", () => {
    const path = linePath(dragged("dimension", [0.1, 0.5], [0.5, 0.5]), view);
    const [, , , , x1, y1, x2, y2, x3, y3, x4, y4] = numbers(path);
    for (const [found, wanted] of [
      [x1, 40],
      [x2, 40],
      [y1, 94],
      [y2, 106],
      [x3, 200],
      [x4, 200],
      [y3, 94],
      [y4, 106],
    ]) {
      assert.ok(Math.abs(found - wanted) < 1e-9, `${found} is not ${wanted}`);
    }
  });

  it("what stands at the ends turns with the line", () => {
    // From (40, 100) to (120, 160): 3 along 4, so that a tick of six pixels goes 3.6 and 4.8.
    const [from, to] = [
      [0.1, 0.5],
      [0.3, 0.8],
    ];
    const path = linePath(dragged("dimension", from, to), view);
    const ticks = numbers(path).slice(4);
    const wanted = [43.6, 95.2, 36.4, 104.8, 123.6, 155.2, 116.4, 164.8];
    ticks.forEach((value, index) => {
      assert.ok(Math.abs(value - wanted[index]) < 1e-9, `${ticks} is not ${wanted}`);
    });
    assert.deepEqual(path.match(/[MLl]/g), ["M", "L", "M", "L", "M", "L"]);
    // The two sides of the head are as far from the line as each other, and back from its point.
    const [, , , , , , dx1, dy1, , , dx2, dy2] = numbers(
      linePath(dragged("arrow", from, to), view),
    );
    const along = (dx, dy) => (80 * dx + 60 * dy) / 100;
    const across = (dx, dy) => (80 * dy - 60 * dx) / 100;
    assert.ok(Math.abs(along(dx1, dy1) - -16 * Math.cos(Math.PI / 7)) < 1e-9);
    assert.ok(Math.abs(along(dx2, dy2) - along(dx1, dy1)) < 1e-9);
    assert.ok(Math.abs(across(dx1, dy1) + across(dx2, dy2)) < 1e-9);
    assert.ok(Math.abs(Math.abs(across(dx1, dy1)) - 16 * Math.sin(Math.PI / 7)) < 1e-9);
  });

  it("a circle fills its box", () => {
    const shape = dragged("circle", [0.1, 0.2], [0.6, 0.7]);
    assert.deepEqual(frame(shape, view), { left: 40, top: 40, width: 200, height: 100 });
    assert.equal(ellipsePath(shape, view), "M40 90a100 50 0 1 0 200 0a100 50 0 1 0 -200 0z");
  });

  it("words stand over the middle and stay in the picture", () => {
    assert.deepEqual(wordsAt(dragged("dimension", [0, 0.5], [0.5, 1]), view), [100, 147]);
    assert.deepEqual(
      [0, 131, 133, 267, 269, 400].map((x) => anchorAt(x, view)),
      ["start", "start", "middle", "middle", "end", "end"],
    );
  });
});

describe("what was changed", () => {
  const one = { kind: "text", at: [0, 0], text: "1" };
  const two = { kind: "text", at: [0, 0], text: "2" };

  it("can be undone and done again", () => {
    const marks = new History([]);
    marks.change([one]);
    marks.change([one, two]);
    assert.equal(marks.undo(), true);
    assert.deepEqual(marks.shapes, [one]);
    assert.equal(marks.undo(), true);
    assert.deepEqual(marks.shapes, []);
    assert.equal(marks.undo(), false);
    assert.equal(marks.redo(), true);
    assert.equal(marks.redo(), true);
    assert.deepEqual(marks.shapes, [one, two]);
    assert.equal(marks.redo(), false);
  });

  it("takes the place of what was undone", () => {
    const marks = new History([one]);
    marks.change([]);
    marks.undo();
    marks.change([one, two]);
    assert.equal(marks.redo(), false);
    marks.undo();
    assert.deepEqual(marks.shapes, [one]);
  });
});
