// Before and after, one over the other with a slider. Two or three places marked on both photos
// line them up: two give a turn, a size and a shift; three also take care of a slant.
// Works without pairs too: then the photos are laid over each other as they are.

import { laidOver, lineUp } from "./line-up.js";
import { postData } from "./net.js";
import { CASING, INK, Stage, svgElement } from "./photo-stage.js";

const page = document.querySelector("[data-compare]");
const find = (selector) => page.querySelector(selector);
const box = find(".compare-box");
const beforePane = find(".compare-before");
const beforeImage = beforePane.querySelector("img");
const afterImage = find(".compare-after");
const range = find(".compare-range");
const sizeOf = (side) =>
  [`${side}Width`, `${side}Height`].map((name) => Number(page.dataset[name]));
const size = { before: sizeOf("before"), after: sizeOf("after") };
let pairs = JSON.parse(document.getElementById("pairs-data").textContent);

function slide() {
  const share = Number(range.value) / 100;
  beforePane.style.clipPath = `inset(0 ${(1 - share) * 100}% 0 0)`;
  find(".compare-line").style.left = `${share * 100}%`;
}

function place() {
  const shown = afterImage.getBoundingClientRect().width;
  const scale = shown / size.after[0];
  beforeImage.style.width = `${size.before[0] * scale}px`;
  beforeImage.style.maxWidth = "none";
  const [a, b, c, d, e, f] = lineUp(pairs, size) ?? laidOver(size);
  beforeImage.style.transform = `matrix(${a}, ${b}, ${c}, ${d}, ${e * scale}, ${f * scale})`;
  slide();
}

const panel = find("[data-line-up]"); // only for who may line up
const said = find("[data-lined-up]");
const sentence = () =>
  lineUp(pairs, size)
    ? "Lined up at the points you marked."
    : `Not lined up yet.${panel ? " Line up the photos if they do not match." : ""}`;

range.addEventListener("input", slide);
function slideTo(event) {
  const frame = box.getBoundingClientRect();
  range.value = String(Math.round((100 * (event.clientX - frame.left)) / frame.width));
  slide();
}

// With a mouse, the browser would take the picture itself along and end our dragging.
box.addEventListener("dragstart", (event) => event.preventDefault());
box.addEventListener("pointerdown", (event) => {
  if (event.pointerType !== "mouse" || event.button !== 0) return;
  box.setPointerCapture(event.pointerId); // goes on beside the box, and ends wherever it is let go
  slideTo(event);
});
box.addEventListener("pointermove", (event) => {
  if (event.buttons & 1) slideTo(event);
});
new ResizeObserver(place).observe(box);
place();
said.textContent = sentence();

// --- lining up -----------------------------------------------------------------------------

let marks = [[], []];
let stages = null;

function drawMark(stage, at, number) {
  const { unit } = stage;
  const [cx, cy] = stage.view.pixels(at);
  const ring = (stroke, width) =>
    svgElement("circle", { cx, cy, r: 1.6 * unit, fill: "none", stroke, "stroke-width": width });
  const look = { "font-size": 5 * unit, "font-weight": 700, fill: INK };
  const casing = { stroke: CASING, "stroke-width": 0.4 * unit };
  const label = svgElement("text", { x: cx + 2 * unit, y: cy - unit, ...look, ...casing });
  label.textContent = String(number);
  return [ring(CASING, unit), ring(INK, 0.5 * unit), label];
}

function drawMarks() {
  stages.forEach((stage, side) => {
    const drawn = marks[side].flatMap((at, index) => drawMark(stage, at, index + 1));
    stage.layer.replaceChildren(...drawn);
  });
  const [one, other] = marks.map((list) => list.length);
  const ready = one === other && one >= 2;
  find("[data-keep-pairs]").disabled = !ready;
  find("[data-line-up-step]").textContent = ready
    ? "Good. Save, or mark a third point for a better match."
    : `Mark the same two or three points on both photos, such as corners of bricks. Before: ${one}, after: ${other}.`;
}

function stageOf(svg, side) {
  const put = (at) => {
    if (marks[side].length >= 3) marks[side].shift();
    marks[side].push(at);
    drawMarks();
  };
  const onKey = (event, at) => {
    if (event.key !== "Enter") return false;
    put([...at]);
    return true;
  };
  return new Stage(svg, { onUp: put, onKey });
}

function openPanel() {
  panel.hidden = false;
  stages ||= [...panel.querySelectorAll(".stage")].map(stageOf);
  drawMarks();
  panel.querySelector(".stage").focus();
}

function clear() {
  marks = [[], []];
  drawMarks();
}

async function save() {
  pairs = marks[0].map((one, index) => [one, marks[1][index]]);
  place();
  panel.hidden = true;
  find("[data-open-line-up]").focus();
  said.textContent = "Saving …";
  const { status, answer } = await postData(page.dataset.compare, { pairs });
  const unsaved = status ? "not saved." : "not saved: no connection.";
  said.textContent = status === 200 ? sentence() : answer.error || `Lined up here, but ${unsaved}`;
}

if (panel) {
  find("[data-open-line-up]").addEventListener("click", openPanel);
  find("[data-clear-pairs]").addEventListener("click", clear);
  find("[data-keep-pairs]").addEventListener("click", save);
}
