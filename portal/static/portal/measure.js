// Measuring on a photo: four corners of something of known size, then two ends of a distance.
// The server works out the distance and its uncertainty; this file collects the marks, keeps them
// on this device, and asks again when there is a connection.

import {
  CORNERS,
  LOUPE_MS,
  MARKS,
  crossPath,
  howSet,
  linePaths,
  needsDirection,
  question,
  reference,
  referenceWords,
  through,
} from "./measure-geometry.js";
import { openJoints } from "./measure-open-joints.js";
import { keeper, newId, pauseAfter, postData, whatIsWrong } from "./net.js";
import { INK, Stage, casedPath } from "./photo-stage.js";

const STEPS = [
  "top left corner",
  "top right corner",
  "bottom right corner",
  "bottom left corner",
  "first end",
  "second end",
];
const RESEND_S = 8;

const page = document.querySelector("[data-measure]");
const address = page.dataset.measure;
const find = (selector) => page.querySelector(selector);
const form = find("form");
const kept = keeper(`measure:${address}`);

let points = [];
let set = []; // how each of them was set
let downAt = 0;
let seen = { lines: [], outlines: [] };
let held = -1;
let chosen = -1;
let asked = 0;
let askTimer = 0;
let fresh = null;
let saving = false;
let saveTimer = 0;
let tried = false;
let isKept = false;
let askedAgain = 0;
let savedAgain = 0;
let id = newId();

const outlined = openJoints(page, () => draw());
const stage = new Stage(find(".stage"), { onDown, onMove, onUp, onCancel, onKey });

function draw() {
  const size = stage.unit / Math.sqrt(stage.view.zoom);
  const round = { "stroke-linejoin": "round" };
  const lines = linePaths(points, stage.view).flatMap((path) =>
    casedPath(path, 0.5 * size, 0.25 * size, round),
  );
  const joints = seen.lines.flatMap((line) =>
    casedPath(through(line, stage.view, false), 0.35 * size, 0.15 * size, { colour: "#5fd3ff" }),
  );
  const crosses = points.flatMap((at, index) => {
    const arm = (index === chosen ? 2.2 : 1.5) * size;
    const colour = index === chosen ? "#fff" : INK;
    const path = crossPath(at, index, arm, stage.view);
    return casedPath(path, 0.7 * size, 0.3 * size, { colour });
  });
  stage.layer.replaceChildren(...joints, ...lines, ...outlined.shapes(stage, size), ...crosses);
}

function tell() {
  const fields = new FormData(form);
  const next = STEPS[points.length];
  const marked = referenceWords(reference(fields));
  const measured = fields.get("wanted") === "gauge" ? "the known length" : "the distance";
  const whose = ` of ${points.length < CORNERS ? marked : measured}`;
  const done = needsDirection(fields) ? "Straight, upright or level?" : "All marked.";
  find("[data-step]").textContent = next
    ? `Mark ${points.length + 1} of ${MARKS}: ${next}${whose}`
    : done;
  find("[data-directions]").hidden = Boolean(next) || fields.get("wanted") === "gauge";
  find("[data-undo]").disabled = !points.length;
  find("[data-nudges]").hidden = chosen < 0;
  if (chosen >= 0) find("[data-nudged]").textContent = `Move the ${STEPS[chosen]} a little`;
}

function keep() {
  const fields = Object.fromEntries(new FormData(form));
  isKept = kept.write({ points, set, fields, id, tried });
}

function changed() {
  draw();
  tell();
  fresh = null;
  // What was sent may be there, its answer lost: other marks are another measurement.
  if (tried) id = newId();
  tried = false;
  window.clearTimeout(saveTimer);
  unanswered();
  keep();
  window.clearTimeout(askTimer);
  asked += 1;
  const isAsked = points.length === MARKS && !needsDirection(new FormData(form));
  if (isAsked) askTimer = window.setTimeout(ask, 350);
  else result("");
  if (points.length === MARKS && !isAsked) bringIntoView();
}

function unanswered() {
  find("[data-save]").disabled = true;
  find("[data-when-answered]").hidden = true;
  find("[data-rests-on]").hidden = true;
  show({ lines: [], outlines: [] });
}

// The whole picture above what is said of it: as much of the page as that takes is scrolled.
function bringIntoView() {
  const picture = stage.svg.getBoundingClientRect();
  const said = find(".measure-answer").getBoundingClientRect();
  if (picture.top < 0 || picture.bottom > said.top) window.scrollBy(0, picture.top);
}

// What the portal found in the picture.
function show(found) {
  seen = found;
  outlined.take(found.outlines);
  draw();
}

// Nothing is said to be kept that the browser did not keep.
function where() {
  return isKept
    ? "Your marks are kept on this device"
    : "Your marks stay on this page until you close it";
}

function result(text, kind = "") {
  const box = find("[data-result]");
  box.textContent = text;
  box.className = `answer measure-result ${kind}`.trim();
  box.hidden = !text;
}

async function ask() {
  asked += 1;
  const mine = asked;
  const body = question(points, set, new FormData(form));
  const { status, answer, retryAfter } = await postData(address, body);
  if (mine !== asked) return;
  if (status === 200) {
    fresh = body;
    askedAgain = 0;
    result(answer.sentence, answer.decides ? "" : "waits");
    find("[data-save]").disabled = false;
    find("[data-when-answered]").hidden = false;
    find("[name=gauge_of]").disabled = !answer.decides;
    find("[data-rests-on]").textContent = answer.rests_on;
    find("[data-rests-on]").hidden = !answer.rests_on;
    show(answer);
    bringIntoView();
  } else if (status === 400) result(answer.error, "holds");
  else if (status === 403) {
    result(`Sign in again in another tab, then move a mark. ${where()}.`, "holds");
  } else {
    result(`${whatIsWrong(status)} ${where()}.`, "waits");
    askTimer = window.setTimeout(ask, again(status, retryAfter, askedAgain));
    askedAgain += 1;
  }
}

function again(status, retryAfter, tries) {
  return 1000 * (pauseAfter(status, retryAfter, tries) || RESEND_S);
}

async function save() {
  if (!fresh || saving) return;
  window.clearTimeout(saveTimer);
  saving = true;
  const sent = fresh;
  const button = find("[data-save]");
  button.setAttribute("aria-busy", "true");
  const isGauge = sent.wanted === "gauge";
  const fill = !isGauge && Boolean(find("[name=fill_item]")?.checked);
  const wall = isGauge && !find("[name=gauge_of]").disabled ? find("[name=gauge_of]").value : "";
  tried = true;
  keep();
  const wish = { ...sent, id, save: true, fill_item: fill, gauge_of: wall };
  const { status, answer, retryAfter } = await postData(address, wish);
  saving = false;
  button.removeAttribute("aria-busy");
  if (status === 200) {
    kept.drop();
    window.location.assign(page.dataset.done);
  } else if (fresh !== sent) {
    return;
  } // marks were moved meanwhile: they are saved with the button
  else if (status === 400) result(answer.error, "holds");
  else if (status === 403) {
    result(`Not saved: sign in again in another tab, then press Save. ${where()}.`, "holds");
  } else {
    result(`Not saved. ${whatIsWrong(status)} ${where()} and will be sent again.`, "waits");
    saveTimer = window.setTimeout(save, again(status, retryAfter, savedAgain));
    savedAgain += 1;
  }
}

function onDown(at) {
  downAt = performance.now();
  held = stage.view.nearest(at, points, 24 / stage.scale);
  if (held < 0 && points.length < MARKS) {
    points.push(at);
    held = points.length - 1;
  }
  chosen = held;
  if (held >= 0) points[held] = at;
  draw();
}

function onMove(at) {
  if (held < 0) return;
  points[held] = at;
  draw();
}

function onUp(at) {
  if (held < 0) return;
  points[held] = at;
  set[held] = howSet(stage, performance.now() - downAt);
  held = -1;
  changed();
}

function onCancel() {
  // A second finger came down: it zooms. A mark that the first one was setting is not set.
  if (held >= 0 && !set[held]) points.splice(held, 1);
  held = -1;
  draw();
}

function onKey(event, at) {
  if (event.key === "Enter" || event.key === " ") {
    if (points.length < MARKS) {
      points.push([...at]);
      chosen = points.length - 1;
    } else if (chosen >= 0) points[chosen] = [...at];
    if (chosen >= 0) set[chosen] = howSet(stage, LOUPE_MS); // the loupe is there all the time
    changed();
    return true;
  }
  if (/^[1-6]$/.test(event.key) && points[Number(event.key) - 1]) {
    chosen = Number(event.key) - 1;
    stage.cursor = [...points[chosen]];
    stage.drawCross();
    draw();
    tell();
    return true;
  }
  if (event.key === "Backspace" || event.key === "Delete") {
    undo();
    return true;
  }
  return false;
}

function undo() {
  points.pop();
  set.length = points.length;
  chosen = -1;
  changed();
}

function nudge(direction) {
  const steps = { left: [-1, 0], right: [1, 0], up: [0, -1], down: [0, 1] };
  const [dx, dy] = steps[direction];
  const hair = 0.5 / stage.scale;
  points[chosen] = stage.view.moved(points[chosen], dx * hair, dy * hair);
  set[chosen] = howSet(stage, LOUPE_MS);
  stage.showLoupe(points[chosen]);
  changed();
}

function showFields() {
  const fields = new FormData(form);
  const { kind } = reference(fields);
  for (const part of page.querySelectorAll("[data-for]")) part.hidden = part.dataset.for !== kind;
  for (const part of page.querySelectorAll("[data-when]")) {
    part.hidden = part.dataset.when !== fields.get("wanted");
  }
}

find("[data-undo]").addEventListener("click", undo);
find("[data-again]").addEventListener("click", () => {
  points = [];
  set = [];
  chosen = -1;
  id = newId();
  stage.whole();
  changed();
});
find("[data-zoom-in]").addEventListener("click", () => {
  stage.zoomBy(1.8, points[chosen]);
  draw();
});
find("[data-zoom-out]").addEventListener("click", () => {
  stage.zoomBy(1 / 1.8);
  draw();
});
find("[data-move]").addEventListener("click", (event) => {
  stage.moving = !stage.moving;
  event.currentTarget.setAttribute("aria-pressed", String(stage.moving));
  stage.svg.classList.toggle("is-moving", stage.moving);
});
for (const button of page.querySelectorAll("[data-nudge]")) {
  button.addEventListener("click", () => nudge(button.dataset.nudge));
}
find("[data-save]").addEventListener("click", save);
form.addEventListener("submit", (event) => event.preventDefault());
page.addEventListener("input", ({ target }) => {
  if (!target.form || ["gauge_of", "fill_item"].includes(target.name)) return;
  showFields();
  changed();
});
window.addEventListener("online", () => {
  if (points.length === MARKS && !fresh && !needsDirection(new FormData(form))) ask();
  else if (tried) save();
});

const before = kept.read();
if (Array.isArray(before?.points)) {
  points = before.points;
  // Kept by an earlier page, which did not note how: as a quick tap.
  set = points.map((_, index) => before.set?.[index] || howSet(stage, 0));
  for (const [name, value] of Object.entries(before.fields || {})) {
    if (name === "csrfmiddlewaretoken") continue;
    const field = form.elements[name];
    if (field) field.value = value;
  }
}
showFields();
changed();
if (before?.tried) {
  // The same marks may have been saved before this page was left.
  ({ id, tried } = before);
  keep();
}
