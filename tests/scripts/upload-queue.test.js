// Photos on their way: none is lost, none goes twice under another id, none stands in the way.

import assert from "node:assert/strict";
import { beforeEach, describe, it } from "node:test";

import { Clock, settled } from "./browser.js";
import { AT_ONCE, UploadQueue } from "../../portal/static/portal/upload-queue.js";

const TAKEN = { status: 200, answer: { id: "photo" }, retryAfter: null };
const NOTHING = { status: 0, answer: null, retryAfter: null };

let clock;
let told; // what the queue told, as [what, name of the file, ...]
let sends; // what it sent, as {job, end}
let queue;

beforeEach(() => {
  clock = new Clock();
  told = [];
  sends = [];
  const show = { changed: () => told.push(["changed"]) };
  for (const what of ["sending", "sent", "refused", "waiting"]) {
    show[what] = (job, ...more) => told.push([what, job.file, ...more]);
  }
  const send = (job) =>
    new Promise((resolve) => {
      sends.push({ id: job.id, file: job.file, end: resolve });
    });
  queue = new UploadQueue(send, show, clock);
});

async function choose(...files) {
  const jobs = files.map((file) => queue.add(file));
  queue.next();
  await settled();
  return jobs;
}

async function answer(index, result) {
  sends[index].end(result);
  await settled();
}

const kinds = () =>
  told.filter(([what]) => what !== "changed").map(([what, file]) => `${what} ${file}`);
const lastTold = () => told.filter(([what]) => what !== "changed").at(-1);

describe("several photos", () => {
  it("go a few at once and in their order", async () => {
    await choose("a", "b", "c", "d");
    assert.deepEqual(
      sends.map(({ file }) => file),
      ["a", "b", "c", "d"].slice(0, AT_ONCE),
    );
    await answer(1, TAKEN);
    assert.equal(sends.at(-1).file, "c");
    assert.equal(queue.count("sending"), AT_ONCE);
    for (const index of [0, 2]) await answer(index, TAKEN);
    await answer(3, TAKEN);
    assert.equal(queue.jobs.length, 0);
    assert.equal(told.filter(([what]) => what === "sent").length, 4);
  });

  it("each have an id of their own", async () => {
    const jobs = await choose("a", "a");
    assert.notEqual(jobs[0].id, jobs[1].id);
  });
});

describe("a photo without an answer", () => {
  it("goes again by itself, under the same id", async () => {
    await choose("a");
    await answer(0, NOTHING);
    assert.deepEqual(kinds(), ["sending a", "waiting a"]);
    assert.equal(queue.pending, 1);
    await clock.run(1_999);
    assert.equal(sends.length, 1);
    await clock.run(1);
    assert.equal(sends.length, 2);
    assert.equal(sends[1].id, sends[0].id);
    await answer(1, TAKEN);
    assert.deepEqual(queue.jobs, []);
  });

  it("waits longer each time, and goes on for as long as it takes", async () => {
    await choose("a");
    for (const pause of [2_000, 5_000, 15_000, 30_000, 30_000, 30_000]) {
      await answer(sends.length - 1, NOTHING);
      const before = sends.length;
      await clock.run(pause - 1);
      assert.equal(sends.length, before, `before ${pause} ms`);
      await clock.run(1);
      assert.equal(sends.length, before + 1, `after ${pause} ms`);
    }
  });

  it("goes at once when there is reception again, and then only once", async () => {
    await choose("a", "b");
    await answer(0, NOTHING);
    await answer(1, NOTHING);
    queue.retryAll();
    await settled();
    assert.equal(sends.length, 4);
    await clock.run(60_000);
    assert.equal(sends.length, 4);
  });

  it("that was sent again by hand waits its whole time again", async () => {
    const [job] = await choose("a");
    await answer(0, NOTHING);
    await clock.run(1_500);
    queue.retry(job);
    await answer(1, NOTHING);
    await clock.run(4_999);
    assert.equal(sends.length, 2);
    await clock.run(1);
    assert.equal(sends.length, 3);
  });

  it("lets the others pass", async () => {
    await choose("a", "b", "c");
    await answer(0, NOTHING);
    assert.equal(sends.at(-1).file, "c");
  });
});

describe("a photo that can't be taken just now", () => {
  it("goes again when the portal wants it", async () => {
    await choose("a");
    await answer(0, { status: 503, answer: null, retryAfter: "40" });
    const [, , result, pause] = lastTold();
    assert.equal(result.status, 503);
    assert.ok(pause >= 40 && pause <= 50);
    await clock.run(39_999);
    assert.equal(sends.length, 1);
    await clock.run(10_001);
    assert.equal(sends.length, 2);
  });

  it("goes again when somebody who was signed out may be back", async () => {
    await choose("a");
    await answer(0, { status: 200, answer: null, retryAfter: null });
    assert.deepEqual(kinds().at(-1), "waiting a");
    await clock.run(2_000);
    assert.equal(sends.length, 2);
  });
});

describe("a photo that is refused", () => {
  it("is said to be, and holds nothing up", async () => {
    const [job] = await choose("a");
    await answer(0, { status: 400, answer: { error: "This is no photo." }, retryAfter: null });
    assert.deepEqual(lastTold(), ["refused", "a", "This is no photo."]);
    assert.equal(queue.pending, 0);
    await clock.run(600_000);
    queue.retryAll();
    assert.equal(sends.length, 1);
    queue.drop(job);
    assert.deepEqual(queue.jobs, []);
  });
});

describe("a refusal without a reason", () => {
  it("is none", async () => {
    await choose("a");
    await answer(0, { status: 400, answer: null, retryAfter: null });
    assert.equal(kinds().at(-1), "waiting a");
  });
});

it("tells of each change, so that a form knows when it may go", async () => {
  const [job] = await choose("a");
  assert.deepEqual(told.at(-1), ["changed"]);
  told = [];
  await answer(0, NOTHING);
  assert.deepEqual(told.at(-1), ["changed"]);
  told = [];
  queue.drop(job);
  assert.deepEqual(told, [["changed"]]);
});

describe("a photo that is left out", () => {
  it("is not sent again", async () => {
    const [job] = await choose("a");
    await answer(0, NOTHING);
    queue.drop(job);
    await clock.run(600_000);
    queue.retryAll();
    queue.retry(job);
    assert.equal(sends.length, 1);
    assert.equal(queue.pending, 0);
  });

  it("while it was on its way is not shown as sent", async () => {
    const [job] = await choose("a", "b", "c");
    queue.drop(job);
    await answer(0, TAKEN);
    assert.ok(!kinds().includes("sent a"));
    await answer(1, TAKEN);
    assert.ok(kinds().includes("sending c"));
  });
});
