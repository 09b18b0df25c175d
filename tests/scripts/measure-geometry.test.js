// What the phone makes of what was typed and marked, before the server measures.

import assert from "node:assert/strict";
import { describe, it } from "node:test";

import {
  LOUPE_MS,
  circleRound,
  crossPath,
  howSet,
  linePaths,
  millimetres,
  needsDirection,
  question,
  reference,
  referenceWords,
} from "../../portal/static/portal/measure-geometry.js";
import { View } from "../../portal/static/portal/photo-view.js";

const view = new View(400, 200);
const POINTS = [
  [0.1, 0.1],
  [0.5, 0.1],
  [0.5, 0.5],
  [0.1, 0.5],
  [0.6, 0.6],
  [0.7, 0.7],
];
const fields = (values) => new Map(Object.entries(values));

describe("a size", () => {
  it("is taken as people type it", () => {
    const typed = ["297", " 297,5 ", "297.5 mm", "297.5MM", "0"];
    assert.deepEqual(typed.map(millimetres), [297, 297.5, 297.5, 297.5, 0]);
  });

  it("that is no number is named by the server, not guessed here", () => {
    for (const typed of ["A4", "1,297,5", "29 cm", "mm 5"]) {
      assert.ok(Number.isNaN(millimetres(typed)), typed);
      assert.equal(JSON.parse(JSON.stringify([millimetres(typed)]))[0], null);
    }
  });
});

describe("the thing of known size", () => {
  it("is what the form says", () => {
    const typed = {
      bricks: "3",
      courses: "1",
      width_mm: "297",
      height_mm: "210 mm",
      tolerance_mm: "0,5",
    };
    assert.deepEqual(reference(fields({ reference: "brick", ...typed })), { kind: "brick" });
    assert.deepEqual(reference(fields({ reference: "bricks", ...typed })), {
      kind: "bricks",
      bricks: 3,
      courses: 1,
    });
    assert.deepEqual(reference(fields({ reference: "known", ...typed })), {
      kind: "known",
      width_mm: 297,
      height_mm: 210,
      tolerance_mm: 0.5,
    });
  });

  it("is named in words", () => {
    const words = [
      { kind: "bricks", bricks: 3, courses: 1 },
      { kind: "bricks", bricks: 1, courses: 4 },
      { kind: "brick" },
      { kind: "known" },
      { kind: "courses", courses: 12 },
      { kind: "courses", courses: 0 },
    ].map(referenceWords);
    assert.deepEqual(words, [
      "3 bricks along and 1 course up",
      "1 brick along and 4 courses up",
      "one brick",
      "the thing of known size",
      "12 courses",
      "the courses",
    ]);
  });
});

describe("the server is asked", () => {
  const set = POINTS.map(() => ({ shown_px: 358, zoom: 1, loupe: false }));
  const marks = {
    version: 2,
    corners: POINTS.slice(0, 4),
    start: [0.6, 0.6],
    end: [0.7, 0.7],
    set,
  };

  it("for a distance with corners, ends, direction and how each mark was set", () => {
    const typed = fields({ wanted: "distance", reference: "brick", direction: "upright" });
    assert.deepEqual(question(POINTS, set, typed), {
      ...marks,
      wanted: "distance",
      direction: "upright",
      reference: { kind: "brick" },
    });
  });

  it("for a gauge with the courses and the known length, and no direction", () => {
    const typed = {
      wanted: "gauge",
      reference: "brick",
      many: "12",
      length_mm: "1000 mm",
      off_mm: "1",
    };
    assert.deepEqual(question(POINTS, set, fields(typed)), {
      ...marks,
      wanted: "gauge",
      reference: { kind: "courses", courses: 12 },
      known: { length_mm: 1000, tolerance_mm: 1 },
    });
  });

  it("for no direction that nobody chose", () => {
    assert.ok(needsDirection(fields({ wanted: "distance" })));
    assert.ok(!needsDirection(fields({ wanted: "distance", direction: "level" })));
    assert.ok(!needsDirection(fields({ wanted: "gauge" })));
  });
});

it("the loupe counts only where it was held", () => {
  const stage = { shownPx: 358, view: { zoom: 2 } };
  assert.deepEqual(howSet(stage, 120), { shown_px: 358, zoom: 2, loupe: false });
  assert.equal(howSet(stage, LOUPE_MS).loupe, true);
});

it("a joint that is kept gets a circle round it, inside the photo", () => {
  const outline = [
    [0.001, 0.5],
    [0.2, 0.5],
    [0.2, 0.6],
    [0.001, 0.6],
  ];
  const { kind, box } = circleRound(outline);
  assert.equal(kind, "circle");
  const near = [0, 0.495, 0.205, 0.605];
  for (const [index, side] of near.entries()) assert.ok(Math.abs(box[index] - side) < 1e-9);
});

describe("the marks", () => {
  it("are joined as far as they go", () => {
    const paths = [0, 1, 2, 4, 5].map((count) => linePaths(POINTS.slice(0, count), view));
    assert.deepEqual(paths, [
      [],
      [],
      ["M40 20L200 20"],
      ["M40 20L200 20L200 100L40 100Z"],
      ["M40 20L200 20L200 100L40 100Z"],
    ]);
    assert.deepEqual(linePaths(POINTS, view)[1].match(/[MLZ]/g), ["M", "L"]);
  });

  it("of corners and of ends look different", () => {
    assert.equal(crossPath([0.25, 0.5], 3, 6, view), "M94 100h12M100 94v12");
    assert.equal(crossPath([0.25, 0.5], 4, 6, view), "M94 94l12 12M106 94l-12 12");
  });
});
