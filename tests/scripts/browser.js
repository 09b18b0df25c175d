// What the scripts find in a browser and node lacks, made anew for each test.

import { webcrypto } from "node:crypto";

globalThis.crypto ??= webcrypto; // node 18

// A page with that cookie and those tokens in its forms.
export function page({ cookie = "", tokens = [] } = {}) {
  const inputs = tokens.map((value) => ({ value }));
  globalThis.document = {
    cookie,
    querySelector: () => inputs[0] ?? null,
    querySelectorAll: () => inputs,
  };
  return inputs;
}

// A store as localStorage is: its own keys are the names.
export class Shelf {
  constructor(entries = {}) {
    Object.assign(this, entries);
  }

  getItem(name) {
    return this[name] ?? null;
  }

  setItem(name, value) {
    this[name] = value;
  }

  removeItem(name) {
    delete this[name];
  }
}

export function shelve(shelf) {
  Object.defineProperty(globalThis, "localStorage", {
    configurable: true,
    get: typeof shelf === "function" ? shelf : () => shelf,
  });
}

// A clock that moves when it is told to.
export class Clock {
  constructor() {
    this.now = 0;
    this.timers = new Map();
  }

  setTimeout(work, wait) {
    const id = this.timers.size + 1;
    this.timers.set(id, { work, at: this.now + wait });
    return id;
  }

  clearTimeout(id) {
    if (this.timers.has(id)) this.timers.get(id).work = null;
  }

  // By so many ms; what was due has happened, promises included, when it returns.
  async run(ms) {
    this.now += ms;
    for (const timer of this.timers.values()) {
      if (timer.at > this.now || !timer.work) continue;
      const { work } = timer;
      timer.work = null;
      work();
    }
    await settled();
  }
}

// Promises that wait for nothing else are through.
export function settled() {
  return new Promise((resolve) => {
    setImmediate(resolve);
  });
}
