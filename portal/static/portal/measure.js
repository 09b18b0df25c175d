// Measuring on a photo: four corners of something of known size, then two ends of a distance.
// The server works out the distance and its uncertainty; this file collects the marks, keeps them
// on this device, and asks again when there is a connection.

import { Stage, keeper, post, svgElement } from "./photo-stage.js";

const STEPS = ["top left corner", "top right corner", "bottom right corner", "bottom left corner", "first end of the distance", "second end of the distance"];
const INK = "#ffd400";
const CASING = "#17212b";
const RESEND_MS = 8000;

const page = document.querySelector("[data-measure]");
const address = page.dataset.measure;
const find = (selector) => page.querySelector(selector);
const form = find("form");
const kept = keeper(`measure:${address}`);

let points = [];
let held = -1;
let chosen = -1;
let asked = 0;
let askTimer = 0;
let fresh = null;
let saving = false;
let saveTimer = 0;
let tried = false;
let id = newId();

const stage = new Stage(find(".stage"), { onDown, onMove, onUp, onCancel, onKey });
const px = ([x, y]) => [x * stage.width, y * stage.height];

function newId() {
  if (crypto.randomUUID) return crypto.randomUUID();
  const hex = [...crypto.getRandomValues(new Uint8Array(16))].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return `${hex.slice(0, 8)}-${hex.slice(8, 12)}-4${hex.slice(13, 16)}-a${hex.slice(17, 20)}-${hex.slice(20)}`;
}

function draw() {
  const size = stage.unit / Math.sqrt(stage.view.zoom);
  const children = [];
  const line = (ends, closed) => {
    const path = ends.map((at, i) => `${i ? "L" : "M"}${px(at).join(" ")}`).join("") + (closed ? "Z" : "");
    for (const [colour, width] of [[CASING, 0.5], [INK, 0.25]]) children.push(svgElement("path", { d: path, fill: "none", stroke: colour, "stroke-width": width * size, "stroke-linejoin": "round" }));
  };
  if (points.length > 1) line(points.slice(0, 4), points.length >= 4);
  if (points.length > 5) line(points.slice(4), false);
  points.forEach((at, index) => {
    const [x, y] = px(at);
    const arm = (index === chosen ? 2.2 : 1.5) * size;
    const path = index < 4 ? `M${x - arm} ${y}h${2 * arm}M${x} ${y - arm}v${2 * arm}` : `M${x - arm} ${y - arm}l${2 * arm} ${2 * arm}M${x + arm} ${y - arm}l${-2 * arm} ${2 * arm}`;
    for (const [colour, width] of [[CASING, 0.7], [index === chosen ? "#fff" : INK, 0.3]]) children.push(svgElement("path", { d: path, fill: "none", stroke: colour, "stroke-width": width * size }));
  });
  stage.layer.replaceChildren(...children);
}

function tell() {
  const next = STEPS[points.length];
  const whose = points.length < 4 ? ` of ${whatIsMarked()}` : "";
  find("[data-step]").textContent = next ? `Mark ${points.length + 1} of 6: the ${next}${whose}` : "All marked. Drag a mark to improve it.";
  find("[data-undo]").disabled = !points.length;
  find("[data-nudges]").hidden = chosen < 0;
  if (chosen >= 0) find("[data-nudged]").textContent = `Move the ${STEPS[chosen]} by a hair`;
}

function keep() {
  kept.write({ points, fields: Object.fromEntries(new FormData(form)), id, tried });
}

function changed() {
  draw();
  tell();
  fresh = null;
  // What was sent may be there, its answer lost: other marks are another measurement.
  if (tried) id = newId();
  tried = false;
  window.clearTimeout(saveTimer);
  find("[data-save]").disabled = true;
  keep();
  window.clearTimeout(askTimer);
  if (points.length === 6) askTimer = window.setTimeout(ask, 350);
  else result("");
}

function reference() {
  const fields = new FormData(form);
  const number = (name) => Number(fields.get(name)) || 0;
  // As typed: a number input takes "297,5" for 2975. What is no number goes as null and is named.
  const mm = (name) => Number(fields.get(name).trim().replace(/\s*mm$/i, "").replace(",", "."));
  const kind = fields.get("reference");
  if (kind === "bricks") return { kind, bricks: number("bricks"), courses: number("courses") };
  if (kind === "known") return { kind, width_mm: mm("width_mm"), height_mm: mm("height_mm"), tolerance_mm: mm("tolerance_mm") };
  return { kind };
}

function whatIsMarked() {
  const { kind, bricks, courses } = reference();
  if (kind === "bricks") return `${bricks} brick${bricks === 1 ? "" : "s"} along and ${courses} course${courses === 1 ? "" : "s"} up`;
  return kind === "brick" ? "one brick" : "the thing of known size";
}

function request() {
  return { corners: points.slice(0, 4), start: points[4], end: points[5], direction: new FormData(form).get("direction"), mark_error: stage.markError, reference: reference() };
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
  const body = request();
  const { status, answer } = await post(address, body);
  if (mine !== asked) return;
  if (status === 200) {
    fresh = body;
    result(answer.sentence, answer.decides ? "" : "waits");
    find("[data-save]").disabled = false;
  } else if (status === 400) result(answer.error, "holds");
  else if (status === 403) result("Sign in again in another tab, then move a mark. Your marks are kept here.", "holds");
  else {
    result("No connection. Your marks are kept on this device.", "waits");
    askTimer = window.setTimeout(ask, RESEND_MS);
  }
}

async function save() {
  if (!fresh || saving) return;
  window.clearTimeout(saveTimer);
  saving = true;
  const sent = fresh;
  const button = find("[data-save]");
  button.setAttribute("aria-busy", "true");
  const fill = Boolean(find("[name=fill_item]")?.checked);
  tried = true;
  keep();
  const { status, answer } = await post(address, { ...sent, id, save: true, fill_item: fill });
  saving = false;
  button.removeAttribute("aria-busy");
  if (status === 200) {
    kept.clear();
    window.location.assign(page.dataset.done);
  } else if (fresh !== sent) return; // marks were moved meanwhile: they are saved with the button
  else if (status === 400) result(answer.error, "holds");
  else if (status === 403) result("Not saved: sign in again in another tab, then press Save. Your marks are kept here.", "holds");
  else {
    result("Not saved: no connection. Your marks are kept here and sent again by themselves.", "waits");
    saveTimer = window.setTimeout(save, RESEND_MS);
  }
}

function near(at) {
  const reach = 24 / stage.scale;
  let best = -1;
  let least = reach;
  points.forEach((other, index) => {
    const far = Math.hypot(px(at)[0] - px(other)[0], px(at)[1] - px(other)[1]);
    if (far < least) [best, least] = [index, far];
  });
  return best;
}

function onDown(at) {
  held = near(at);
  if (held < 0 && points.length < 6) {
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
  held = -1;
  changed();
}

function onCancel() {
  held = -1;
  draw();
}

function onKey(event, at) {
  if (event.key === "Enter" || event.key === " ") {
    if (points.length < 6) {
      points.push([...at]);
      chosen = points.length - 1;
    } else if (chosen >= 0) points[chosen] = [...at];
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
  chosen = -1;
  changed();
}

function nudge(direction) {
  const steps = { left: [-1, 0], right: [1, 0], up: [0, -1], down: [0, 1] };
  const [dx, dy] = steps[direction];
  const hair = 0.5 / stage.scale;
  const clamp = (value) => Math.min(1, Math.max(0, value));
  const [x, y] = points[chosen];
  points[chosen] = [clamp(x + (dx * hair) / stage.width), clamp(y + (dy * hair) / stage.height)];
  stage.showLoupe(points[chosen]);
  changed();
}

function showFields() {
  const kind = new FormData(form).get("reference");
  for (const part of page.querySelectorAll("[data-for]")) part.hidden = part.dataset.for !== kind;
}

find("[data-undo]").addEventListener("click", undo);
find("[data-again]").addEventListener("click", () => {
  points = [];
  chosen = -1;
  id = newId();
  stage.whole();
  changed();
});
find("[data-zoom-in]").addEventListener("click", () => { stage.zoomBy(1.8, points[chosen]); draw(); });
find("[data-zoom-out]").addEventListener("click", () => { stage.zoomBy(1 / 1.8); draw(); });
find("[data-move]").addEventListener("click", (event) => {
  stage.moving = !stage.moving;
  event.currentTarget.setAttribute("aria-pressed", String(stage.moving));
  stage.svg.classList.toggle("is-moving", stage.moving);
});
for (const button of page.querySelectorAll("[data-nudge]")) button.addEventListener("click", () => nudge(button.dataset.nudge));
find("[data-save]").addEventListener("click", save);
form.addEventListener("submit", (event) => event.preventDefault());
form.addEventListener("input", () => {
  showFields();
  changed();
});
window.addEventListener("online", () => {
  if (points.length === 6 && !fresh) ask();
  else if (tried) save();
});

const before = kept.read();
if (Array.isArray(before?.points)) {
  points = before.points;
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
