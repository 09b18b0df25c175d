// The shapes on a photo as they are now, what can be undone and what can be done again.

export class History {
  constructor(shapes) {
    this.shapes = shapes;
    this.past = [];
    this.undone = [];
  }

  change(shapes) {
    this.past.push(this.shapes);
    this.undone = [];
    this.shapes = shapes;
  }

  // Whether there was anything to undo.
  undo() {
    return this.step(this.past, this.undone);
  }

  redo() {
    return this.step(this.undone, this.past);
  }

  step(from, to) {
    if (!from.length) return false;
    to.push(this.shapes);
    this.shapes = from.pop();
    return true;
  }
}
