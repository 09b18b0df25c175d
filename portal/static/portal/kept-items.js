// Items that were typed on this phone and that the server may not have: what is kept, and when it
// may be forgotten. Each entry is {values, at, sent, url, title, report}; `values` holds a list for
// each name of the form's fields, `at` is in ms since 1970.

const PREFIX = "kept-item:";

// `store` as in net.js.
export class KeptItems {
  constructor(store) {
    this.store = store;
  }

  all() {
    return this.store.names(PREFIX).map((name) => ({ name, ...this.store.read(name) }));
  }

  ofReport(report) {
    return this.all().filter((entry) => entry.report === report);
  }

  drop(name) {
    this.store.drop(name);
  }

  // The server has this item: what was kept of it is not needed any more.
  forget(id) {
    for (const entry of this.all()) if (idOf(entry) === id) this.drop(entry.name);
  }

  // An item that stands in the report was saved, even where the answer never came. What was typed
  // for it must not come back in the form of the next one, or the two would be one item.
  // `addressOf(id)` gives the address of an item that stands there.
  settle(addressOf) {
    for (const { name, ...entry } of this.all()) {
      const id = idOf(entry);
      const url = id && name.startsWith(`${PREFIX}new:`) ? addressOf(id) : null;
      if (!url) continue;
      this.drop(name);
      // What was changed after it was sent is a change of that item.
      if (!entry.sent) this.store.write(`${PREFIX}item:${id}`, { ...entry, url });
    }
  }

  // What is being typed in a form; `key` is its data-keep.
  draft(key, about) {
    return new Draft(this.store, PREFIX + key, about);
  }
}

function idOf(entry) {
  return entry.values?.item_id?.[0];
}

class Draft {
  constructor(store, name, about) {
    this.store = store;
    this.name = name;
    this.about = about;
    this.isSaved = false;
    this.sentBefore = "";
  }

  read() {
    return this.store.read(this.name);
  }

  // Whether it is kept. `sent` in what is kept: nothing else was ever sent for this item, so if it
  // is there, this is what it says.
  keep(values, { isSent = false, at = Date.now() } = {}) {
    if (this.isSaved) return false;
    const now = JSON.stringify(values);
    const sent = isSent && (!this.sentBefore || this.sentBefore === now);
    if (isSent) this.sentBefore = now;
    return this.store.write(this.name, { values, at, sent, ...this.about });
  }

  // The server has it.
  saved() {
    this.isSaved = true;
    this.drop();
  }

  drop() {
    this.store.drop(this.name);
  }
}
