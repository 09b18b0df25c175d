// What was typed without reception: it comes back where it belongs, and never as another item.

import assert from "node:assert/strict";
import { beforeEach, describe, it } from "node:test";

import { KeptItems } from "../../portal/static/portal/kept-items.js";
import { store } from "../../portal/static/portal/net.js";
import { Shelf, shelve } from "./browser.js";

const NEW = "new:report-1:wall-1:soil_against_brick";
const ABOUT = { url: "/new/?wall=1", title: "Soil, North wall", report: "report-1" };

let items;
let shelf;

beforeEach(() => {
  shelf = new Shelf({ "markup:/photo/1/": "{}" });
  shelve(shelf);
  items = new KeptItems(store);
});

const typed = (note, id = "item-1") => ({ item_id: [id], note: [note] });
const stands =
  (...ids) =>
  (id) =>
    ids.includes(id) ? `/items/${id}/` : undefined;
const kept = (name) => store.read(`kept-item:${name}`);

describe("what is typed", () => {
  it("is kept with what it belongs to", () => {
    const draft = items.draft(NEW, ABOUT);
    assert.equal(draft.keep(typed("By the tap"), { at: 7 }), true);
    assert.deepEqual(draft.read(), { values: typed("By the tap"), at: 7, sent: false, ...ABOUT });
    assert.deepEqual(
      items.ofReport("report-1").map(({ title }) => title),
      ["Soil, North wall"],
    );
    assert.deepEqual(items.ofReport("report-2"), []);
  });

  it("is not said to be kept where the store is full", () => {
    Object.defineProperty(shelf, "setItem", {
      value: () => {
        throw new Error("QuotaExceededError");
      },
    });
    assert.equal(items.draft(NEW, ABOUT).keep(typed("By the tap")), false);
    assert.deepEqual(items.all(), []);
  });

  it("is forgotten when it is saved, and not kept by a timer that comes after", () => {
    const draft = items.draft(NEW, ABOUT);
    draft.keep(typed("By the tap"), { isSent: true });
    draft.saved();
    assert.equal(draft.keep(typed("By the tap")), false);
    assert.equal(draft.read(), null);
  });

  it("leaves alone what others keep", () => {
    items.draft(NEW, ABOUT).keep(typed("By the tap"));
    items.forget("item-1");
    assert.deepEqual(Object.keys(shelf), ["markup:/photo/1/"]);
  });

  it("outlives an entry that nobody can read", () => {
    shelf["kept-item:broken"] = "{";
    items.draft(NEW, ABOUT).keep(typed("By the tap"));
    assert.equal(items.ofReport("report-1").length, 1);
    items.forget("item-2");
    items.settle(stands("item-2"));
    assert.ok(kept(NEW));
  });
});

describe("what was sent", () => {
  const sent = (...notes) => {
    const draft = items.draft(NEW, ABOUT);
    for (const note of notes) draft.keep(typed(note), { isSent: true });
    return draft;
  };

  it("is known to be all that was sent", () => {
    assert.equal(sent("By the tap").read().sent, true);
    assert.equal(sent("By the tap", "By the tap").read().sent, true);
  });

  it("is not when it was changed meanwhile", () => {
    assert.equal(sent("By the tap", "By the meter box").read().sent, false);
    const draft = sent("By the tap");
    draft.keep(typed("By the tap, left"));
    assert.equal(draft.read().sent, false);
  });

  it("is forgotten once the item stands in the report", () => {
    sent("By the tap");
    items.settle(stands("item-1"));
    assert.deepEqual(items.all(), []);
  });

  it("is kept for as long as the item stands nowhere", () => {
    sent("By the tap");
    items.settle(stands("item-2"));
    assert.deepEqual(kept(NEW).values, typed("By the tap"));
  });

  it("to change an item that stands there is kept until the answer comes", () => {
    items.draft("item:item-1", ABOUT).keep(typed("By the tap"), { isSent: true });
    items.settle(stands("item-1"));
    assert.deepEqual(kept("item:item-1").values, typed("By the tap"));
  });

  it("and changed after is a change of that item, not of the next", () => {
    sent("By the tap").keep(typed("By the meter box"), { at: 9 });
    items.settle(stands("item-1"));
    assert.equal(kept(NEW), null);
    const moved = kept("item:item-1");
    assert.deepEqual(moved.values, typed("By the meter box"));
    assert.equal(moved.url, "/items/item-1/");
    assert.equal(moved.at, 9);
    items.settle(stands("item-1"));
    assert.deepEqual(kept("item:item-1"), moved);
  });
});
