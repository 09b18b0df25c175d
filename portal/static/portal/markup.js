// Marking up a photo: arrow, circle, line with a dimension, text, blur.
// A finger or a mouse drags; the keyboard moves the cross with the arrow keys and sets a start and
// an end with Enter. Every change is kept on this device at once and sent by itself; what could
// not be sent is sent again when there is a connection, also after closing the page.

import { History } from "./markup-history.js";
import {
  HAVE_WORDS,
  anchorAt,
  ellipsePath,
  frame,
  handles,
  isTooSmall,
  linePath,
  ordered,
  started,
  stretched,
  withHandle,
  wordsAt,
} from "./markup-shapes.js";
import { keeper, pauseAfter, postData, whatIsWrong } from "./net.js";
import { CASING, INK, Stage, casedPath, svgElement } from "./photo-stage.js";

const NAMES = {
  arrow: "Arrow",
  circle: "Circle",
  dimension: "Line with a length",
  text: "Text",
  blur: "Blur",
};
const BLUR = "#8a8f94"; // what is under it is not to be read
const RESEND_S = 10;

const page = document.querySelector("[data-markup]");
const address = page.dataset.markup;
const find = (selector) => page.querySelector(selector);
const kept = keeper(`markup:${address}`);

const stored = JSON.parse(document.getElementById("marks-data").textContent);
const marks = new History(stored.shapes);
let { version } = stored;
let chosen = -1;
let draft = null;
let grip = null;
let sending = false;
let sendTimer = 0;
let tries = 0;
let isKept = false;

const stage = new Stage(find(".stage"), { onDown, onMove, onUp, onCancel, onKey });
const tool = () => find("input[name=tool]:checked").value;
const words = find("#mark-words");

function say(text, kind = "") {
  const line = find("[data-save-state]");
  line.textContent = text;
  line.className = `save-state ${kind}`.trim();
}

// --- drawing -------------------------------------------------------------------------------

function stroke(path) {
  const round = { "stroke-linecap": "round", "stroke-linejoin": "round" };
  return casedPath(path, 1.1 * stage.unit, 0.6 * stage.unit, round);
}

function drawWords(text, [x, y]) {
  const size = 3.6 * stage.unit;
  const casing = { stroke: CASING, "stroke-width": 0.9 * stage.unit, "stroke-linejoin": "round" };
  return [{ fill: CASING, ...casing }, { fill: INK }].map((look) => {
    const line = svgElement("text", {
      x,
      y: Math.max(y, size),
      "font-size": size,
      "font-weight": 700,
      "font-family": "DejaVu Sans, sans-serif",
      "text-anchor": anchorAt(x, stage.view),
      ...look,
    });
    line.textContent = text;
    return line;
  });
}

function blurred(shape) {
  const { left, top, width, height } = frame(shape, stage.view);
  return svgElement("rect", {
    x: left,
    y: top,
    width,
    height,
    fill: BLUR,
    "fill-opacity": 0.93,
    stroke: "#fff",
    "stroke-width": 0.3 * stage.unit,
    "stroke-dasharray": stage.unit,
  });
}

const DRAWN = {
  arrow: (shape) => stroke(linePath(shape, stage.view)),
  dimension: (shape) => [
    ...stroke(linePath(shape, stage.view)),
    ...(shape.text ? drawWords(shape.text, wordsAt(shape, stage.view)) : []),
  ],
  circle: (shape) => stroke(ellipsePath(shape, stage.view)),
  text: (shape) => drawWords(shape.text, stage.view.pixels(shape.at)),
  blur: (shape) => [blurred(shape)],
};

function drawShape(shape) {
  const group = svgElement("g");
  group.append(...DRAWN[shape.kind](shape));
  return group;
}

function handle(at) {
  const [cx, cy] = stage.view.pixels(at);
  const r = (1.4 * stage.unit) / stage.view.zoom + 0.6 * stage.unit;
  const line = { stroke: CASING, "stroke-width": 0.4 * stage.unit };
  return svgElement("circle", { cx, cy, r, fill: "#fff", ...line });
}

function draw() {
  const all = draft ? [...marks.shapes, draft] : marks.shapes;
  stage.layer.replaceChildren(...all.map(drawShape));
  const shape = marks.shapes[chosen];
  if (shape) stage.layer.append(...handles(shape).map(handle));
}

function rowOf(shape, index) {
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
    change(without(index));
    stage.svg.focus();
  });
  row.append(name, remove);
  return row;
}

function list() {
  find("[data-mark-list]").replaceChildren(...marks.shapes.map(rowOf));
  find("[data-no-marks]").hidden = marks.shapes.length > 0;
  find("[data-undo]").disabled = !marks.past.length;
  find("[data-redo]").disabled = !marks.undone.length;
}

function refresh() {
  draw();
  list();
}

// --- changing ------------------------------------------------------------------------------

function without(index) {
  return marks.shapes.filter((_, at) => at !== index);
}

function withShape(index, changedShape) {
  return marks.shapes.map((shape, at) => (at === index ? changedShape(shape) : shape));
}

function change(next, choose = -1) {
  marks.change(next);
  chosen = choose;
  changed();
}

function keep() {
  isKept = kept.write({ shapes: marks.shapes, version });
}

// Nothing is said to be kept that the browser did not keep.
function where() {
  return isKept ? "kept on this device" : "on this page until you close it";
}

function changed() {
  refresh();
  keep();
  say(isKept ? "Kept on this device, sending" : "Sending", "is-kept");
  window.clearTimeout(sendTimer);
  sendTimer = window.setTimeout(send, 700);
}

function undo() {
  if (!marks.undo()) return;
  chosen = -1;
  changed();
}

function redo() {
  if (!marks.redo()) return;
  chosen = -1;
  changed();
}

function finish(at) {
  const shape = ordered(stretched(draft, at));
  draft = null;
  if (shape.kind === "text" && !shape.text) {
    say("Type the text first, then tap where it goes.", "is-wrong");
    words.focus();
  } else if (isTooSmall(shape, stage.view)) {
    say("Drag from one end to the other.", "is-wrong");
  } else {
    change([...marks.shapes, shape], marks.shapes.length);
    return;
  }
  refresh();
}

// --- pointer and keyboard ------------------------------------------------------------------

// A new shape of the chosen tool.
function begin(at) {
  draft = started(tool(), at, words.value.trim());
}

function nearHandle(at) {
  const shape = marks.shapes[chosen];
  return shape ? stage.view.nearest(at, handles(shape), 26 / stage.scale) : -1;
}

function onDown(at) {
  const index = nearHandle(at);
  if (index >= 0) {
    grip = { index, before: marks.shapes };
    return;
  }
  chosen = -1;
  begin(at);
  draw();
}

function onMove(at) {
  if (grip) marks.shapes = withShape(chosen, (shape) => withHandle(shape, grip.index, at));
  else if (draft) draft = stretched(draft, at);
  else return;
  draw();
}

function onUp(at) {
  if (grip) {
    const moved = withShape(chosen, ordered);
    const keepChosen = chosen;
    marks.shapes = grip.before;
    grip = null;
    if (isTooSmall(moved[keepChosen], stage.view)) refresh();
    else change(moved, keepChosen);
  } else if (draft) finish(at);
}

function onCancel() {
  if (grip) marks.shapes = grip.before;
  grip = null;
  draft = null;
  draw();
}

function onKey(event, at) {
  if (event.key === "Enter" || event.key === " ") {
    if (draft) finish(at);
    else if (tool() === "text") {
      begin(at);
      finish(at);
    } else {
      chosen = -1;
      begin(at);
      say("Start is set. Move to the end and press Enter.");
    }
  } else if (event.key === "Escape") onCancel();
  else if ((event.key === "Delete" || event.key === "Backspace") && chosen >= 0) {
    change(without(chosen));
  } else if (event.key === "z" && (event.ctrlKey || event.metaKey)) {
    if (event.shiftKey) redo();
    else undo();
  } else return false;
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
  const sent = marks.shapes;
  const result = await postData(address, { shapes: sent, version });
  sending = false;
  if (result.status === 200) {
    version = result.answer.version;
    tries = 0;
    if (marks.shapes === sent) {
      kept.drop();
      say("Saved");
    } else {
      keep();
      sendTimer = window.setTimeout(send, 100);
    }
  } else notSaved(result);
}

function notSaved({ status, answer, retryAfter }) {
  if (status === 409) clash(answer);
  else if (status === 400) say(answer.error, "is-wrong");
  else if (status === 403) {
    say(`Not saved: sign in again in another tab. The marks are ${where()}.`, "is-wrong");
  } else {
    say(`${whatIsWrong(status)} The marks are ${where()} and will be sent again.`, "is-kept");
    const pause = pauseAfter(status, retryAfter, tries) || RESEND_S;
    tries += 1;
    sendTimer = window.setTimeout(send, 1000 * pause);
  }
}

function takeOver(other) {
  marks.shapes = other.shapes;
  version = other.version;
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
    marks.past.push(marks.shapes);
    takeOver(theirs);
    box.hidden = true;
    kept.drop();
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
    find("[data-words]").hidden = !HAVE_WORDS.includes(tool());
    chosen = -1;
    draw();
  });
}
words.addEventListener("input", () => {
  const shape = marks.shapes[chosen];
  const text = words.value.trim();
  if (!shape || !("text" in shape) || !text) return;
  change(
    withShape(chosen, (one) => ({ ...one, text })),
    chosen,
  );
});
words.addEventListener("keydown", (event) => {
  if (event.key === "Enter") event.preventDefault();
});
window.addEventListener("online", () => {
  if (kept.read()) send();
});
find("[data-words]").hidden = !HAVE_WORDS.includes(tool());

// The server may have these marks already, with the answer lost on the way. Only it can tell that
// from somebody else's marks, so they go there as they are, from the version they were drawn on.
const unsent = kept.read();
if (unsent) {
  marks.past.push(marks.shapes);
  takeOver(unsent);
  changed();
}
refresh();
