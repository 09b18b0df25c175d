// Before and after, one over the other with a slider. Two or three places marked on both photos
// line them up: two give a turn, a size and a shift; three also take care of a slant.
// Works without pairs too: then the photos are laid over each other as they are.

import { Stage, post, svgElement } from "./photo-stage.js";

const page = document.querySelector("[data-compare]");
const find = (selector) => page.querySelector(selector);
const box = find(".compare-box");
const beforePane = find(".compare-before");
const beforeImage = beforePane.querySelector("img");
const afterImage = find(".compare-after");
const range = find(".compare-range");
const size = { before: [Number(page.dataset.beforeWidth), Number(page.dataset.beforeHeight)], after: [Number(page.dataset.afterWidth), Number(page.dataset.afterHeight)] };
let pairs = JSON.parse(document.getElementById("pairs-data").textContent);

function slide() {
  const share = Number(range.value) / 100;
  beforePane.style.clipPath = `inset(0 ${(1 - share) * 100}% 0 0)`;
  find(".compare-line").style.left = `${share * 100}%`;
}

// The affine map [a, b, c, d, e, f] (as in CSS matrix()) from before to after, in after's pixels.
export function affine(points) {
  const from = points.map(([one]) => [one[0] * size.before[0], one[1] * size.before[1]]);
  const to = points.map(([, other]) => [other[0] * size.after[0], other[1] * size.after[1]]);
  if (points.length === 2) {
    // Complex numbers: to = m * from + k.
    const [ux, uy] = [from[1][0] - from[0][0], from[1][1] - from[0][1]];
    const [vx, vy] = [to[1][0] - to[0][0], to[1][1] - to[0][1]];
    const length = ux * ux + uy * uy;
    if (!length) return null;
    const [a, b] = [(vx * ux + vy * uy) / length, (vy * ux - vx * uy) / length];
    return [a, b, -b, a, to[0][0] - a * from[0][0] + b * from[0][1], to[0][1] - b * from[0][0] - a * from[0][1]];
  }
  const [p, q, r] = from;
  const whole = (q[0] - p[0]) * (r[1] - p[1]) - (r[0] - p[0]) * (q[1] - p[1]);
  if (Math.abs(whole) < 1) return null;
  const solve = (axis) => {
    const [u, v] = [to[1][axis] - to[0][axis], to[2][axis] - to[0][axis]];
    const alongX = (u * (r[1] - p[1]) - v * (q[1] - p[1])) / whole;
    const alongY = (v * (q[0] - p[0]) - u * (r[0] - p[0])) / whole;
    return [alongX, alongY, to[0][axis] - alongX * p[0] - alongY * p[1]];
  };
  const [[a, c, e], [b, d, f]] = [solve(0), solve(1)];
  return [a, b, c, d, e, f];
}

function place() {
  const shown = afterImage.getBoundingClientRect().width;
  const scale = shown / size.after[0];
  const map = pairs.length > 1 ? affine(pairs) : null;
  beforeImage.style.width = `${size.before[0] * scale}px`;
  beforeImage.style.maxWidth = "none";
  const fit = [size.after[0] / size.before[0], 0, 0, size.after[1] / size.before[1], 0, 0];
  const [a, b, c, d, e, f] = map || fit;
  beforeImage.style.transform = `matrix(${a}, ${b}, ${c}, ${d}, ${e * scale}, ${f * scale})`;
  slide();
}

const said = find("[data-lined-up]");
const sentence = () => (pairs.length > 1 && affine(pairs) ? "Lined up by the places you marked." : "Laid over each other as they are. Line them up if they don't match.");

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

const panel = find("[data-line-up]");
let marks = [[], []];
let stages = null;

function drawMarks() {
  stages.forEach((stage, side) => {
    stage.layer.replaceChildren(...marks[side].flatMap(([x, y], index) => {
      const [cx, cy] = [x * stage.width, y * stage.height];
      const label = svgElement("text", { x: cx + 2 * stage.unit, y: cy - stage.unit, "font-size": 5 * stage.unit, "font-weight": 700, fill: "#ffd400", stroke: "#17212b", "stroke-width": 0.4 * stage.unit });
      label.textContent = String(index + 1);
      return [svgElement("circle", { cx, cy, r: 1.6 * stage.unit, fill: "none", stroke: "#17212b", "stroke-width": stage.unit }), svgElement("circle", { cx, cy, r: 1.6 * stage.unit, fill: "none", stroke: "#ffd400", "stroke-width": 0.5 * stage.unit }), label];
    }));
  });
  const [one, other] = marks.map((list) => list.length);
  const ready = one === other && one >= 2;
  find("[data-keep-pairs]").disabled = !ready;
  find("[data-line-up-step]").textContent = ready ? "Good. Keep it, or mark a third place for a better match." : `Mark the same two or three places on both photos, such as corners of bricks. Before: ${one}, after: ${other}.`;
}

function openPanel() {
  panel.hidden = false;
  stages ||= [...panel.querySelectorAll(".stage")].map((svg, side) => {
    const put = (at) => {
      if (marks[side].length >= 3) marks[side].shift();
      marks[side].push(at);
      drawMarks();
    };
    return new Stage(svg, { onUp: put, onKey: (event, at) => (event.key === "Enter" ? (put([...at]), true) : false) });
  });
  drawMarks();
  panel.querySelector(".stage").focus();
}

find("[data-open-line-up]").addEventListener("click", openPanel);
find("[data-clear-pairs]").addEventListener("click", () => {
  marks = [[], []];
  drawMarks();
});
find("[data-keep-pairs]").addEventListener("click", async () => {
  pairs = marks[0].map((one, index) => [one, marks[1][index]]);
  place();
  panel.hidden = true;
  find("[data-open-line-up]").focus();
  said.textContent = "Keeping it …";
  const { status, answer } = await post(page.dataset.compare, { pairs });
  said.textContent = status === 200 ? sentence() : answer.error || "Lined up here, but not saved: no connection.";
});
