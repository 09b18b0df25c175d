// One photo laid over another by the places that were marked on both.

import assert from "node:assert/strict";
import { describe, it } from "node:test";

import { laidOver, lineUp } from "../../portal/static/portal/line-up.js";

const SIZE = { before: [400, 300], after: [800, 500] };

const mapped = ([a, b, c, d, e, f], [x, y]) => [a * x + c * y + e, b * x + d * y + f];
const inPixels = ([x, y], [width, height]) => [x * width, y * height];

// Marks on both photos of places that a map brings from one to the other.
function pairsBy(map, places) {
  return places.map((place) => {
    const [x, y] = mapped(map, inPixels(place, SIZE.before));
    return [place, [x / SIZE.after[0], y / SIZE.after[1]]];
  });
}

function same(found, wanted) {
  found.forEach((value, index) => {
    assert.ok(Math.abs(value - wanted[index]) < 1e-9, `${found} is not ${wanted}`);
  });
}

const [cos, sin] = [Math.cos(0.3), Math.sin(0.3)];
const TURNED = [1.7 * cos, 1.7 * sin, -1.7 * sin, 1.7 * cos, 12, -34];
const SLANTED = [1.6, 0.1, 0.4, 2.1, -20, 15];
const PLACES = [
  [0.1, 0.2],
  [0.7, 0.3],
  [0.4, 0.9],
];

describe("two places", () => {
  it("give back a turn, a size and a shift", () => {
    same(lineUp(pairsBy(TURNED, PLACES.slice(0, 2)), SIZE), TURNED);
  });

  it("bring each mark onto its other, whatever was marked", () => {
    const pairs = [
      [
        [0.2, 0.2],
        [0.9, 0.1],
      ],
      [
        [0.8, 0.4],
        [0.3, 0.7],
      ],
    ];
    const map = lineUp(pairs, SIZE);
    for (const [one, other] of pairs) {
      same(mapped(map, inPixels(one, SIZE.before)), inPixels(other, SIZE.after));
    }
  });
});

describe("three places", () => {
  it("give back a slant as well", () => {
    same(lineUp(pairsBy(SLANTED, PLACES), SIZE), SLANTED);
    same(lineUp(pairsBy(TURNED, PLACES), SIZE), TURNED);
  });
});

describe("places that say nothing", () => {
  it("line nothing up", () => {
    const [one] = pairsBy(TURNED, PLACES);
    assert.equal(lineUp([], SIZE), null);
    assert.equal(lineUp([one], SIZE), null);
    assert.equal(lineUp([one, one], SIZE), null);
    const onALine = [0.1, 0.2, 0.3].map((at) => [at, at]);
    assert.equal(lineUp(pairsBy(TURNED, onALine), SIZE), null);
  });
});

it("without marks, one is stretched to the size of the other", () => {
  const map = laidOver(SIZE);
  same(mapped(map, [0, 0]), [0, 0]);
  same(mapped(map, SIZE.before), SIZE.after);
});
