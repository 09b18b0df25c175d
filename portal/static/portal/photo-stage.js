// A photo to put marks on: zoom, move, a magnifier under the finger, a cross for the keyboard.
// Positions are fractions of the displayed picture, [x, y] from its top left corner.
//
//   const stage = new Stage(svgElement, { onDown, onMove, onUp, onKey });
//   stage.layer            an empty <g> to draw into, in the picture's own pixels
//   stage.unit             a length that is about a hundredth of the longer side
//   stage.zoomBy(factor), stage.whole(), stage.moving = true (dragging moves the picture)
//
// The svg holds one <image>; data-loupe names a second svg that serves as the magnifier.

import { View, inPicture } from "./photo-view.js";

const SVG = "http://www.w3.org/2000/svg";
const LOUPE_ZOOM = 3;
// What is drawn over a photo has to show on brick, mortar and sky: light on a dark casing.
export const INK = "#ffd400";
export const CASING = "#17212b";

export function svgElement(tag, attributes) {
  const made = document.createElementNS(SVG, tag);
  for (const [name, value] of Object.entries(attributes || {})) made.setAttribute(name, value);
  return made;
}

// A path in ink, cased; the widths in pixels of the picture.
export function casedPath(d, casing, ink, { colour = INK, ...more } = {}) {
  return [
    [CASING, casing],
    [colour, ink],
  ].map(([stroke, width]) =>
    svgElement("path", { d, fill: "none", stroke, "stroke-width": width, ...more }),
  );
}

export class Stage {
  constructor(svg, handlers) {
    this.svg = svg;
    this.handlers = handlers;
    const image = svg.querySelector("image");
    this.width = Number(image.getAttribute("width"));
    this.height = Number(image.getAttribute("height"));
    this.view = new View(this.width, this.height);
    this.unit = this.view.unit;
    this.layer = svg.appendChild(svgElement("g"));
    this.cross = svg.appendChild(
      svgElement("path", { fill: "none", stroke: INK, "pointer-events": "none" }),
    );
    this.cursor = [0.5, 0.5];
    this.moving = false;
    this.pointers = new Map();
    this.loupe = document.getElementById(svg.dataset.loupe);
    this.loupe?.append(
      svgElement("image", {
        href: image.getAttribute("href"),
        width: this.width,
        height: this.height,
      }),
    );
    this.loupeLayer = this.loupe?.appendChild(svgElement("g"));
    this.loupeCross = this.loupe?.appendChild(svgElement("path", { fill: "none", stroke: INK }));
    svg.addEventListener("pointerdown", (event) => this.down(event));
    svg.addEventListener("pointermove", (event) => this.move(event));
    for (const name of ["pointerup", "pointercancel"]) {
      svg.addEventListener(name, (event) => this.up(event));
    }
    svg.addEventListener("keydown", (event) => this.key(event));
    svg.addEventListener("focus", () => this.drawCross());
    svg.addEventListener("blur", () => this.cross.removeAttribute("d"));
    svg.addEventListener("wheel", (event) => this.wheel(event), { passive: false });
    this.show();
    this.look(image.getAttribute("href"));
  }

  // Nobody is to mark or measure a picture that is not there.
  look(address) {
    const probe = new Image();
    probe.addEventListener("error", () => {
      this.svg.inert = true;
      const note = document.createElement("p");
      note.className = "alert alert-danger";
      note.setAttribute("role", "alert");
      note.textContent = "The picture is not reachable just now. Load this page again in a minute.";
      this.svg.parentElement.before(note);
    });
    probe.src = address;
  }

  show() {
    this.svg.setAttribute("viewBox", this.view.box);
  }

  // Screen pixels for one pixel of the picture, as it is shown now.
  get scale() {
    const box = this.svg.getBoundingClientRect();
    return this.view.scaleIn(box.width, box.height);
  }

  // The longer side of the whole picture in pixels of the screen, before it is zoomed.
  get shownPx() {
    return (this.scale / this.view.zoom) * Math.max(this.width, this.height);
  }

  zoomBy(factor, centre) {
    this.view.zoomBy(factor, centre);
    this.show();
  }

  whole() {
    this.view.whole();
    this.show();
  }

  point(event) {
    const matrix = this.svg.getScreenCTM().inverse();
    const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(matrix);
    return inPicture([at.x / this.width, at.y / this.height]);
  }

  down(event) {
    if (event.button > 0) return;
    this.svg.setPointerCapture(event.pointerId);
    this.pointers.set(event.pointerId, [event.clientX, event.clientY]);
    if (this.pointers.size === 2) {
      this.handlers.onCancel?.();
      this.hideLoupe();
      return;
    }
    if (this.pointers.size > 2 || this.moving) return;
    this.cursor = this.point(event);
    this.handlers.onDown?.(this.cursor);
    this.showLoupe(this.cursor);
  }

  move(event) {
    const last = this.pointers.get(event.pointerId);
    if (!last) return;
    const now = [event.clientX, event.clientY];
    if (this.pointers.size === 2) this.pinch(event.pointerId, last, now);
    else if (this.moving) this.pan(now[0] - last[0], now[1] - last[1]);
    else {
      this.cursor = this.point(event);
      this.handlers.onMove?.(this.cursor);
      this.showLoupe(this.cursor);
    }
    this.pointers.set(event.pointerId, now);
  }

  up(event) {
    if (!this.pointers.delete(event.pointerId)) return;
    this.hideLoupe();
    if (this.moving || this.pointers.size) return;
    if (event.type === "pointercancel") this.handlers.onCancel?.();
    else this.handlers.onUp?.(this.point(event));
  }

  pan(dx, dy) {
    this.view.pan(dx, dy, this.scale);
    this.show();
  }

  pinch(id, last, now) {
    const other = [...this.pointers.entries()].find(([key]) => key !== id)[1];
    const before = Math.hypot(last[0] - other[0], last[1] - other[1]);
    const after = Math.hypot(now[0] - other[0], now[1] - other[1]);
    const middle = this.point({
      clientX: (now[0] + other[0]) / 2,
      clientY: (now[1] + other[1]) / 2,
    });
    if (before > 0) this.zoomBy(after / before, middle);
    this.pan((now[0] - last[0]) / 2, (now[1] - last[1]) / 2);
  }

  wheel(event) {
    if (!event.ctrlKey) return;
    event.preventDefault();
    this.zoomBy(event.deltaY < 0 ? 1.15 : 1 / 1.15, this.point(event));
  }

  key(event) {
    const steps = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
    const step = steps[event.key];
    if (step) {
      const by = (event.shiftKey ? 20 : 2) / this.view.zoom;
      this.cursor = this.view.moved(this.cursor, step[0] * by, step[1] * by);
      this.handlers.onMove?.(this.cursor);
      this.drawCross();
    } else if (event.key === "+" || event.key === "=") this.zoomBy(1.5, this.cursor);
    else if (event.key === "-") this.zoomBy(1 / 1.5, this.cursor);
    else if (!this.handlers.onKey?.(event, this.cursor)) return;
    event.preventDefault();
  }

  drawCross() {
    if (document.activeElement !== this.svg) return;
    const [x, y] = this.view.pixels(this.cursor);
    const arm = (4 * this.unit) / this.view.zoom;
    this.cross.setAttribute("d", `M${x - arm} ${y}h${2 * arm}M${x} ${y - arm}v${2 * arm}`);
    this.cross.setAttribute("stroke-width", (0.4 * this.unit) / this.view.zoom);
    this.showLoupe(this.cursor);
  }

  showLoupe(at) {
    if (!this.loupe) return;
    this.loupe.removeAttribute("hidden");
    const across = this.loupe.getBoundingClientRect().width / (this.scale * LOUPE_ZOOM);
    const [x, y] = this.view.pixels(at);
    this.loupe.setAttribute("viewBox", `${x - across / 2} ${y - across / 2} ${across} ${across}`);
    const arm = across / 8;
    this.loupeCross.setAttribute("d", `M${x - arm} ${y}h${2 * arm}M${x} ${y - arm}v${2 * arm}`);
    this.loupeCross.setAttribute("stroke-width", across / 90);
    this.loupeLayer.replaceChildren(
      ...[...this.layer.children].map((child) => child.cloneNode(true)),
    );
    const box = this.svg.getBoundingClientRect();
    const shownX = (x - this.view.x) * this.scale;
    this.loupe.classList.toggle("is-right", shownX < box.width / 2);
  }

  hideLoupe() {
    this.loupe?.setAttribute("hidden", "");
  }
}
