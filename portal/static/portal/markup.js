// Marking up a photo: arrow, circle, line with a dimension, text, blur.
// A finger or a mouse drags; the keyboard moves the cross with the arrow keys and sets a start and
// an end with Enter. Every change is kept on this device at once and sent by itself; what could
// not be sent is sent again when there is a connection, also after closing the page.

import { Stage, keeper, post, svgElement } from "./photo-stage.js";

const NAMES = { arrow: "Arrow", circle: "Circle", dimension: "Line with a dimension", text: "Text", blur: "Blur" };
const INK = "#ffd400";
const CASING = "#17212b";
const RESEND_MS = 10000;

const page = document.querySelector("[data-markup]");
const address = page.dataset.markup;
const find = (selector) => page.querySelector(selector);
const kept = keeper(`markup:${address}`);

let { shapes, version } = JSON.parse(document.getElementById("marks-data").textContent);
let undone = [];
let past = [];
let chosen = -1;
let draft = null;
let grip = null;
let sending = false;
let sendTimer = 0;

const stage = new Stage(find(".stage"), { onDown, onMove, onUp, onCancel, onKey });
const tool = () => find("input[name=tool]:checked").value;
const words = find("#mark-words");

function say(text, kind = "") {
  const line = find("[data-save-state]");
  line.textContent = text;
  line.className = `save-state ${kind}`.trim();
}

// --- drawing -------------------------------------------------------------------------------

const px = ([x, y]) => [x * stage.width, y * stage.height];

function stroke(path, group) {
  for (const [colour, width] of [[CASING, 1.1], [INK, 0.6]]) {
    group.append(svgElement("path", { d: path, fill: "none", stroke: colour, "stroke-width": width * stage.unit, "stroke-linecap": "round", "stroke-linejoin": "round" }));
  }
}

function drawWords(text, [x, y], group) {
  const size = 3.6 * stage.unit;
  const side = x < stage.width * 0.33 ? "start" : x > stage.width * 0.67 ? "end" : "middle";
  for (const look of [{ fill: CASING, stroke: CASING, "stroke-width": 0.9 * stage.unit, "stroke-linejoin": "round" }, { fill: INK }]) {
    const line = svgElement("text", { x, y: Math.max(y, size), "font-size": size, "font-weight": 700, "font-family": "DejaVu Sans, sans-serif", "text-anchor": side, ...look });
    line.textContent = text;
    group.append(line);
  }
}

function line(shape, group) {
  const [[x1, y1], [x2, y2]] = [px(shape.from), px(shape.to)];
  const angle = Math.atan2(y2 - y1, x2 - x1);
  let path = `M${x1} ${y1}L${x2} ${y2}`;
  if (shape.kind === "arrow") {
    const head = Math.min(4 * stage.unit, 0.5 * Math.hypot(x2 - x1, y2 - y1));
    for (const turn of [Math.PI / 7, -Math.PI / 7]) path += `M${x2} ${y2}l${-head * Math.cos(angle + turn)} ${-head * Math.sin(angle + turn)}`;
  } else {
    const [dx, dy] = [1.5 * stage.unit * Math.cos(angle + Math.PI / 2), 1.5 * stage.unit * Math.sin(angle + Math.PI / 2)];
    for (const [x, y] of [[x1, y1], [x2, y2]]) path += `M${x - dx} ${y - dy}L${x + dx} ${y + dy}`;
  }
  stroke(path, group);
  if (shape.kind === "dimension" && shape.text) drawWords(shape.text, [(x1 + x2) / 2, (y1 + y2) / 2 - 0.015 * stage.height], group);
}

function drawShape(shape) {
  const group = svgElement("g");
  if (shape.kind === "arrow" || shape.kind === "dimension") line(shape, group);
  if (shape.kind === "text") drawWords(shape.text, px(shape.at), group);
  if (shape.box) {
    const [[left, top], [right, bottom]] = [px(shape.box.slice(0, 2)), px(shape.box.slice(2))];
    const [rx, ry] = [(right - left) / 2, (bottom - top) / 2];
    if (shape.kind === "circle") stroke(`M${left} ${top + ry}a${rx} ${ry} 0 1 0 ${2 * rx} 0a${rx} ${ry} 0 1 0 ${-2 * rx} 0z`, group);
    else group.append(svgElement("rect", { x: left, y: top, width: 2 * rx, height: 2 * ry, fill: "#8a8f94", "fill-opacity": 0.93, stroke: "#fff", "stroke-width": 0.3 * stage.unit, "stroke-dasharray": stage.unit }));
  }
  return group;
}

function handles(shape) {
  if (shape.box) return [shape.box.slice(0, 2), shape.box.slice(2)];
  return shape.at ? [shape.at] : [shape.from, shape.to];
}

function draw() {
  const all = draft ? [...shapes, draft] : shapes;
  stage.layer.replaceChildren(...all.map(drawShape));
  const shape = shapes[chosen];
  if (!shape) return;
  for (const at of handles(shape)) {
    const [cx, cy] = px(at);
    stage.layer.append(svgElement("circle", { cx, cy, r: (1.4 * stage.unit) / stage.view.zoom + 0.6 * stage.unit, fill: "#fff", stroke: CASING, "stroke-width": 0.4 * stage.unit }));
  }
}

function list() {
  const rows = shapes.map((shape, index) => {
    const row = document.createElement("li");
    row.className = index === chosen ? "is-chosen" : "";
    const name = document.createElement("span");
    name.textContent = NAMES[shape.kind] + (shape.text ? `: ${shape.text}` : "");
    const remove = document.createElement("button");
    remove.type = "button";
    remove.className = "btn btn-sm btn-outline-secondary";
    remove.textContent = "Remove";
    remove.setAttribute("aria-label", `Remove ${name.textContent}`);
    remove.addEventListener("click", () => {
      change(shapes.filter((_, at) => at !== index));
      stage.svg.focus();
    });
    row.append(name, remove);
    return row;
  });
  find("[data-mark-list]").replaceChildren(...rows);
  find("[data-no-marks]").hidden = shapes.length > 0;
  find("[data-undo]").disabled = !past.length;
  find("[data-redo]").disabled = !undone.length;
}

function refresh() {
  draw();
  list();
}

// --- changing ------------------------------------------------------------------------------

function change(next, choose = -1) {
  past.push(shapes);
  undone = [];
  shapes = next;
  chosen = choose;
  changed();
}

function changed() {
  refresh();
  kept.write({ shapes, version });
  say("Kept on this device, being sent", "is-kept");
  window.clearTimeout(sendTimer);
  sendTimer = window.setTimeout(send, 700);
}

function undo() {
  if (!past.length) return;
  undone.push(shapes);
  shapes = past.pop();
  chosen = -1;
  changed();
}

function redo() {
  if (!undone.length) return;
  past.push(shapes);
  shapes = undone.pop();
  chosen = -1;
  changed();
}

function started(at) {
  const kind = tool();
  if (kind === "circle" || kind === "blur") return { kind, box: [...at, ...at] };
  if (kind === "text") return { kind, at, text: words.value.trim() };
  return { kind, from: at, to: at, ...(kind === "dimension" ? { text: words.value.trim() } : {}) };
}

function stretched(shape, at) {
  if (shape.box) return { ...shape, box: [...shape.box.slice(0, 2), ...at] };
  return shape.at ? { ...shape, at } : { ...shape, to: at };
}

function ordered(shape) {
  if (!shape.box) return shape;
  const [a, b, c, d] = shape.box;
  return { ...shape, box: [Math.min(a, c), Math.min(b, d), Math.max(a, c), Math.max(b, d)] };
}

function isTooSmall(shape) {
  if (shape.at) return false;
  const [one, other] = handles(shape).map(px);
  const [dx, dy] = [Math.abs(one[0] - other[0]), Math.abs(one[1] - other[1])];
  return shape.box ? Math.min(dx, dy) < stage.unit : Math.hypot(dx, dy) < stage.unit;
}

function finish(at) {
  const shape = ordered(stretched(draft, at));
  draft = null;
  if (shape.kind === "text" && !shape.text) {
    say("Type the words first, then tap where they go.", "is-wrong");
    words.focus();
  } else if (isTooSmall(shape)) {
    say("Drag from one end to the other.", "is-wrong");
  } else {
    change([...shapes, shape], shapes.length);
    return;
  }
  refresh();
}

// --- pointer and keyboard ------------------------------------------------------------------

function nearHandle(at) {
  const shape = shapes[chosen];
  if (!shape) return null;
  const reach = 26 / stage.scale;
  const far = (other) => Math.hypot(px(at)[0] - px(other)[0], px(at)[1] - px(other)[1]);
  const index = handles(shape).findIndex((handle) => far(handle) < reach);
  return index < 0 ? null : index;
}

function withHandle(shape, index, at) {
  if (shape.at) return { ...shape, at };
  if (shape.box) return { ...shape, box: index ? [...shape.box.slice(0, 2), ...at] : [...at, ...shape.box.slice(2)] };
  return { ...shape, [index ? "to" : "from"]: at };
}

function onDown(at) {
  const index = nearHandle(at);
  if (index !== null) {
    grip = { index, before: shapes };
    return;
  }
  chosen = -1;
  draft = started(at);
  draw();
}

function onMove(at) {
  if (grip) shapes = shapes.map((shape, i) => (i === chosen ? withHandle(shape, grip.index, at) : shape));
  else if (draft) draft = stretched(draft, at);
  else return;
  draw();
}

function onUp(at) {
  if (grip) {
    const moved = shapes.map((shape, i) => (i === chosen ? ordered(shape) : shape));
    const keep = chosen;
    shapes = grip.before;
    grip = null;
    if (isTooSmall(moved[keep])) refresh();
    else change(moved, keep);
  } else if (draft) finish(at);
}

function onCancel() {
  if (grip) shapes = grip.before;
  grip = null;
  draft = null;
  draw();
}

function onKey(event, at) {
  if (event.key === "Enter" || event.key === " ") {
    if (draft) finish(at);
    else if (tool() === "text") {
      draft = started(at);
      finish(at);
    } else {
      chosen = -1;
      draft = started(at);
      say("Start is set. Move to the end and press Enter.");
    }
  } else if (event.key === "Escape") onCancel();
  else if ((event.key === "Delete" || event.key === "Backspace") && chosen >= 0) change(shapes.filter((_, i) => i !== chosen));
  else if (event.key === "z" && (event.ctrlKey || event.metaKey)) (event.shiftKey ? redo : undo)();
  else return false;
  return true;
}

// --- sending -------------------------------------------------------------------------------

async function send() {
  if (sending) {
    sendTimer = window.setTimeout(send, 500);
    return;
  }
  sending = true;
  window.clearTimeout(sendTimer);
  const sent = shapes;
  const { status, answer } = await post(address, { shapes: sent, version });
  sending = false;
  if (status === 200) {
    version = answer.version;
    if (shapes === sent) {
      kept.clear();
      say("Saved");
    } else {
      kept.write({ shapes, version });
      sendTimer = window.setTimeout(send, 100);
    }
  } else if (status === 409) clash(answer);
  else if (status === 400) say(answer.error, "is-wrong");
  else if (status === 403) say("Not saved: sign in again in another tab. The marks are kept on this device.", "is-wrong");
  else {
    say("No connection. The marks are kept on this device and sent again by themselves.", "is-kept");
    sendTimer = window.setTimeout(send, RESEND_MS);
  }
}

function clash(theirs) {
  const box = find("[data-clash]");
  box.hidden = false;
  box.querySelector("[data-keep-mine]").onclick = () => {
    version = theirs.version;
    box.hidden = true;
    send();
  };
  box.querySelector("[data-take-theirs]").onclick = () => {
    past.push(shapes);
    ({ shapes, version } = theirs);
    box.hidden = true;
    kept.clear();
    refresh();
    say("Their marks are shown.");
  };
  box.querySelector("button").focus();
  say(theirs.error, "is-wrong");
}

// --- start ---------------------------------------------------------------------------------

find("[data-undo]").addEventListener("click", undo);
find("[data-redo]").addEventListener("click", redo);
find("[data-zoom-in]").addEventListener("click", () => stage.zoomBy(1.6));
find("[data-zoom-out]").addEventListener("click", () => stage.zoomBy(1 / 1.6));
find("[data-move]").addEventListener("click", (event) => {
  stage.moving = !stage.moving;
  event.currentTarget.setAttribute("aria-pressed", String(stage.moving));
  stage.svg.classList.toggle("is-moving", stage.moving);
});
for (const input of page.querySelectorAll("input[name=tool]")) {
  input.addEventListener("change", () => {
    find("[data-words]").hidden = !["text", "dimension"].includes(tool());
    chosen = -1;
    draw();
  });
}
words.addEventListener("input", () => {
  const shape = shapes[chosen];
  if (!shape || !("text" in shape) || !words.value.trim()) return;
  change(shapes.map((one, i) => (i === chosen ? { ...one, text: words.value.trim() } : one)), chosen);
});
words.addEventListener("keydown", (event) => {
  if (event.key === "Enter") event.preventDefault();
});
window.addEventListener("online", () => {
  if (kept.read()) send();
});
find("[data-words]").hidden = !["text", "dimension"].includes(tool());

// The server may have these marks already, with the answer lost on the way. Only it can tell that
// from somebody else's marks, so they go there as they are, from the version they were drawn on.
const unsent = kept.read();
if (unsent) {
  past.push(shapes);
  ({ shapes, version } = unsent);
  changed();
}
refresh();
