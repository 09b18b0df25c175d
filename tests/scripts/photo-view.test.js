// Which part of a photo is shown. The values are worked out by hand for a photo of 400 by 200.

import assert from "node:assert/strict";
import { beforeEach, describe, it } from "node:test";

import { View, inPicture } from "../../portal/static/portal/photo-view.js";

let view;

beforeEach(() => {
  view = new View(400, 200);
});

function near(found, wanted) {
  assert.equal(found.length, wanted.length);
  found.forEach((value, index) => {
    assert.ok(Math.abs(value - wanted[index]) < 1e-9, `${found} is not ${wanted}`);
  });
}

// Where a place stands on the screen, in pixels of the view's upper left corner.
function onScreen(place) {
  const [x, y] = view.pixels(place);
  return [(x - view.x) * view.zoom, (y - view.y) * view.zoom];
}

describe("a view", () => {
  it("starts with the whole photo", () => {
    assert.equal(view.box, "0 0 400 200");
    assert.deepEqual(view.centre, [0.5, 0.5]);
    assert.equal(view.unit, 4);
  });

  it("comes nearer in the middle of what is seen", () => {
    view.zoomBy(2);
    assert.equal(view.box, "100 50 200 100");
    view.zoomBy(2);
    assert.equal(view.box, "150 75 100 50");
  });

  it("leaves a place where it is on the screen", () => {
    const place = [0.6, 0.3];
    const before = onScreen(place);
    view.zoomBy(3, place);
    near(onScreen(place), before);
    view.zoomBy(1 / 2, place);
    near(onScreen(place), before);
  });

  it("never shows what lies beyond the edges", () => {
    view.zoomBy(4, [0, 0]);
    view.pan(500, 500, 1);
    assert.equal(view.box, "0 0 100 50");
    view.pan(-5000, -5000, 1);
    assert.equal(view.box, "300 150 100 50");
    view.zoomBy(1 / 4, [1, 1]);
    assert.equal(view.box, "0 0 400 200");
  });

  it("stops at the nearest and at the whole", () => {
    view.zoomBy(1000);
    assert.equal(view.zoom, 12);
    view.zoomBy(1 / 1000);
    assert.equal(view.zoom, 1);
    view.zoomBy(5);
    view.whole();
    assert.equal(view.box, "0 0 400 200");
  });

  it("is moved by pixels of the screen", () => {
    view.zoomBy(2);
    view.pan(10, -20, 2);
    assert.equal(view.box, "95 60 200 100");
  });

  it("knows how large it is shown", () => {
    assert.equal(view.scaleIn(800, 400), 2);
    assert.equal(view.scaleIn(800, 100), 0.5);
    view.zoomBy(2);
    assert.equal(view.scaleIn(800, 400), 4);
    assert.equal(view.scaleIn(800, 100), 1);
    assert.equal(view.scaleIn(0, 0), 1, "before it is shown");
  });
});

describe("places", () => {
  it("stay in the picture", () => {
    assert.deepEqual(inPicture([-0.1, 1.2]), [0, 1]);
    assert.deepEqual(inPicture([1.2, -0.1]), [1, 0]);
    assert.deepEqual(view.moved([0.5, 0.25], 4, 50), [0.51, 0.5]);
    assert.deepEqual(view.moved([0.5, 0.99], 40, 40), [0.6, 1]);
  });

  it("are apart by pixels, not by shares", () => {
    assert.equal(view.distance([0, 0], [0.03, 0.08]), 20);
  });

  it("are found by the nearest within reach", () => {
    const places = [
      [0.1, 0.1],
      [0.12, 0.1],
      [0.9, 0.9],
    ];
    assert.equal(view.nearest([0.115, 0.1], places, 20), 1);
    assert.equal(view.nearest([0.5, 0.5], places, 20), -1);
    assert.equal(view.nearest([0.5, 0.5], [], 20), -1);
  });
});
