// Which part of a picture is shown, and how large. Places are shares of the picture, [x, y] from
// its top left corner; `x` and `y` of a view are in the picture's own pixels.

export const clamp = (value, least, most) => Math.min(most, Math.max(least, value));
export const inPicture = ([x, y]) => [clamp(x, 0, 1), clamp(y, 0, 1)];

const NEAREST = 12;

export class View {
  constructor(width, height) {
    Object.assign(this, { width, height });
    this.whole();
  }

  whole() {
    Object.assign(this, { x: 0, y: 0, zoom: 1 });
  }

  // A length of about a hundredth of the longer side.
  get unit() {
    return Math.max(this.width, this.height) / 100;
  }

  get size() {
    return [this.width / this.zoom, this.height / this.zoom];
  }

  get centre() {
    const [width, height] = this.size;
    return [(this.x + width / 2) / this.width, (this.y + height / 2) / this.height];
  }

  // As the viewBox of an svg.
  get box() {
    return [this.x, this.y, ...this.size].join(" ");
  }

  // Never beyond the edges of the picture.
  moveTo(x, y) {
    const [width, height] = this.size;
    this.x = clamp(x, 0, this.width - width);
    this.y = clamp(y, 0, this.height - height);
  }

  // By pixels of the screen, of which there are `scale` to one of the picture.
  pan(dx, dy, scale) {
    this.moveTo(this.x - dx / scale, this.y - dy / scale);
  }

  // The place `at` stays where it is on the screen.
  zoomBy(factor, at = this.centre) {
    const before = this.zoom;
    this.zoom = clamp(before * factor, 1, NEAREST);
    const ratio = before / this.zoom;
    const [x, y] = this.pixels(at);
    this.moveTo(x - (x - this.x) * ratio, y - (y - this.y) * ratio);
  }

  // Pixels of the screen for one of the picture, where it is shown in a box of that size.
  scaleIn(width, height) {
    return Math.min(width / (this.width / this.zoom), height / (this.height / this.zoom)) || 1;
  }

  pixels([x, y]) {
    return [x * this.width, y * this.height];
  }

  // A place moved by pixels of the picture.
  moved([x, y], dx, dy) {
    return inPicture([x + dx / this.width, y + dy / this.height]);
  }

  // How far two places are apart, in pixels of the picture.
  distance(one, other) {
    const [[x1, y1], [x2, y2]] = [this.pixels(one), this.pixels(other)];
    return Math.hypot(x1 - x2, y1 - y2);
  }

  // The index of the nearest of some places that is less than `reach` pixels away, or -1.
  nearest(at, places, reach) {
    let best = -1;
    let least = reach;
    places.forEach((place, index) => {
      const far = this.distance(at, place);
      if (far < least) [best, least] = [index, far];
    });
    return best;
  }
}
