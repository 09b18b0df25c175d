// Joints that look open, outlined for a person: each is kept or dismissed, and those that are kept
// go onto the photo as circles. An experiment that a business turns on; without it nothing is there.

import { circleRound, through } from "./measure-geometry.js";
import { postData, whatIsWrong } from "./net.js";
import { casedPath, svgElement } from "./photo-stage.js";

const KEPT = "#7dff9a";

function button(words, isPressed, press) {
  const made = document.createElement("button");
  made.type = "button";
  made.className = "btn btn-outline-primary";
  made.textContent = words;
  made.setAttribute("aria-pressed", String(isPressed));
  made.addEventListener("click", press);
  return made;
}

export function openJoints(page, redraw) {
  const section = page.querySelector("[data-open-joints]");
  if (!section) return { take() {}, shapes: () => [] };
  const find = (selector) => section.querySelector(selector);
  const marks = JSON.parse(document.getElementById("marks-data").textContent);
  let joints = []; // { outline, is: "new" | "kept" | "dismissed" }

  function decide(joint, is) {
    joint.is = joint.is === is ? "new" : is;
    refresh();
    redraw();
  }

  function refresh() {
    section.hidden = !joints.length;
    find("[data-outline-list]").replaceChildren(...joints.map(row));
    find("[data-keep-outlines]").disabled = !joints.some(({ is }) => is === "kept");
  }

  function row(joint, index) {
    const made = document.createElement("li");
    const name = document.createElement("span");
    name.textContent = `Joint ${index + 1}`;
    const buttons = document.createElement("div");
    buttons.className = "button-group";
    buttons.append(
      button("Keep", joint.is === "kept", () => decide(joint, "kept")),
      button("Dismiss", joint.is === "dismissed", () => decide(joint, "dismissed")),
    );
    made.append(name, buttons);
    return made;
  }

  function say(words, kind) {
    find("[data-outline-state]").textContent = words;
    find("[data-outline-state]").className = `save-state ${kind}`.trim();
  }

  async function keepThem() {
    const circles = joints
      .filter(({ is }) => is === "kept")
      .map((each) => circleRound(each.outline));
    const wish = { shapes: [...marks.shapes, ...circles], version: marks.version };
    find("[data-keep-outlines]").disabled = true;
    const { status, answer } = await postData(section.dataset.markup, wish);
    find("[data-keep-outlines]").disabled = status === 200;
    if (status === 200) {
      Object.assign(marks, answer);
      joints = joints.filter(({ is }) => is === "new");
      refresh();
      redraw();
      section.hidden = false;
      say("Circled on the photo.", "");
    } else if (status === 409) {
      Object.assign(marks, { shapes: answer.shapes, version: answer.version });
      say("Somebody else has marked this photo meanwhile. Press again to add yours.", "is-wrong");
    } else say(answer.error || `Not saved. ${whatIsWrong(status)}`, "is-wrong");
  }

  find("[data-keep-outlines]").addEventListener("click", keepThem);

  return {
    take(outlines) {
      joints = outlines.map((outline) => ({ outline, is: "new" }));
      say("", "");
      refresh();
    },
    shapes(stage, size) {
      return joints.flatMap((joint, index) => {
        if (joint.is === "dismissed") return [];
        const colour = joint.is === "kept" ? KEPT : "#ff8ad8";
        const [x, y] = stage.view.pixels(joint.outline[1]);
        const number = svgElement("text", {
          x: x + size / 2,
          y,
          fill: colour,
          stroke: "#17212b",
          "stroke-width": size / 8,
          "paint-order": "stroke",
          "font-size": 3 * size,
          "font-weight": 700,
        });
        number.textContent = index + 1;
        const path = through(joint.outline, stage.view, true);
        return [...casedPath(path, 0.6 * size, 0.3 * size, { colour }), number];
      });
    },
  };
}
