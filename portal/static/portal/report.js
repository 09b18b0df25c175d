// Writing at the wall with patchy reception. What is typed into a form with data-keep stays on
// this phone until the server has it; sending again is safe, because the form carries its own id.
// sending.js sends it, as every form; what is said meanwhile stands at the top of this page.

import { KeptItems } from "./kept-items.js";
import { inWords, store, whatIsWrong } from "./net.js";
import { goAgain, own, sendAgain } from "./sending.js";

const NOT_KEPT = new Set(["csrfmiddlewaretoken", "photos", "then"]);
const items = new KeptItems(store);

function timeWords(at) {
  return new Date(at).toLocaleTimeString("en-AU", { hour: "numeric", minute: "2-digit" });
}

function buttonOf(words, look, onClick) {
  const button = document.createElement("button");
  button.type = "button";
  button.className = `btn btn-sm ${look}`;
  button.textContent = words;
  button.addEventListener("click", onClick);
  return button;
}

// --- on the pages of a report -----------------------------------------------------------------

function addressOfItem(id) {
  return document.querySelector(`main a[href*="${CSS.escape(id)}"]`)?.getAttribute("href");
}

function rowOf(entry, onDrop) {
  const row = document.createElement("li");
  const link = document.createElement("a");
  link.href = entry.url;
  link.className = "btn btn-sm btn-outline-primary";
  link.textContent = `Continue with: ${entry.title} (${timeWords(entry.at)})`;
  const away = buttonOf("Delete", "btn-quiet", () => {
    items.drop(entry.name);
    row.remove();
    onDrop();
  });
  away.setAttribute("aria-label", `Delete: ${entry.title}`);
  row.append(link, " ", away);
  return row;
}

// What was typed and never saved.
function showDrafts(box, report) {
  const kept = items.ofReport(report);
  if (!kept.length) return;
  const title = document.createElement("p");
  title.textContent = "Typed on this phone and not saved yet:";
  const list = document.createElement("ul");
  const onDrop = () => {
    box.hidden = !list.children.length;
  };
  list.append(...kept.map((entry) => rowOf(entry, onDrop)));
  box.append(title, list);
  box.hidden = false;
}

function tidy(marker) {
  if (marker.dataset.saved) items.forget(marker.dataset.saved);
  items.settle(addressOfItem);
  const box = document.querySelector("[data-kept-drafts]");
  if (box) showDrafts(box, marker.dataset.report);
}

// --- on the form of an item -------------------------------------------------------------------

function valuesOf(form) {
  const found = {};
  for (const [key, value] of new FormData(form)) {
    if (typeof value === "string" && !NOT_KEPT.has(key)) (found[key] ??= []).push(value);
  }
  return found;
}

function addKeptPhoto(form, id) {
  if (form.querySelector(`input[name="photos_kept"][value="${CSS.escape(id)}"]`)) return;
  const input = document.createElement("input");
  input.type = "hidden";
  input.name = "photos_kept";
  input.value = id;
  form.append(input);
}

class KeptForm {
  constructor(form) {
    this.form = form;
    this.note = document.querySelector("[data-kept-note]");
    this.draft = items.draft(form.dataset.keep, {
      url: location.pathname + location.search,
      title: form.dataset.keepTitle,
      report: form.dataset.keepReport,
    });
    this.timer = 0;
    this.isKept = false;
    form.addEventListener("input", () => {
      window.clearTimeout(this.timer);
      this.timer = window.setTimeout(() => this.keep(), 300);
    });
    window.addEventListener("pagehide", () => {
      if (this.timer && this.draft.read()) this.keep();
    });
    own(form, {
      sending: () => this.keep(true),
      arrived: () => this.draft.saved(),
      signedOut: (address) => this.signedOut(address),
      noAnswer: (button) => this.noAnswer(button),
      failed: (button, status, pause) => this.failed(button, status, pause),
      leftToYou: () =>
        this.say(
          `Not sent yet. Send it when you are ready${this.isKept ? ": it is kept on this phone" : ""}.`,
        ),
    });
    const before = this.draft.read();
    if (before && !form.querySelector(".form-errors")) this.restore(before);
  }

  keep(isSent = false) {
    window.clearTimeout(this.timer);
    this.timer = 0;
    this.isKept = this.draft.keep(valuesOf(this.form), { isSent });
  }

  say(text, wrong = false, button = null) {
    this.note.replaceChildren(text, ...(button ? [" ", button] : []));
    this.note.classList.toggle("is-wrong", wrong);
    this.note.hidden = false;
  }

  restore(entry) {
    for (const [key, list] of Object.entries(entry.values)) {
      if (key === "photos_kept") {
        for (const id of list) addKeptPhoto(this.form, id);
        continue;
      }
      const field = this.form.elements[key];
      if (field && field.type !== "file") field.value = list[0];
    }
    const photos = entry.values.photos_kept?.length ?? 0;
    const away = buttonOf("Start again", "btn-outline-primary", () => {
      this.draft.drop();
      location.reload();
    });
    const pictures = photos
      ? ` ${photos === 1 ? "One photo" : `${photos} photos`} were sent before.`
      : "";
    const again = entry.sent
      ? " We got no answer. Save sends the same item again; it is never added twice."
      : "";
    const what = `Here is what you typed at ${timeWords(entry.at)}.${again}`;
    this.say(`${what}${pictures}`, false, away);
    this.form.dispatchEvent(new Event("input", { bubbles: true }));
    this.form.elements.measured_value?.dispatchEvent(new Event("input", { bubbles: true }));
  }

  offerAgain(button, why) {
    const safe = this.isKept
      ? `Nothing is lost: kept on this phone since ${timeWords(Date.now())}.`
      : "Nothing is lost while this page stays open, but it is not kept on this phone.";
    this.say(`${why} ${safe}`, true, sendAgain(this.form, button, "btn btn-primary"));
    this.note.scrollIntoView({ block: "center" });
  }

  failed(button, status, pause) {
    const why = whatIsWrong(status);
    this.offerAgain(button, pause ? `${why} It will be sent again in ${inWords(pause)}.` : why);
  }

  noAnswer(button) {
    this.offerAgain(button, "No reception.");
    window.addEventListener("online", () => goAgain(this.form, button), { once: true });
  }

  // What is kept comes back with the form after signing in; what isn't must not be left behind.
  signedOut(address) {
    if (this.isKept) location.assign(address);
    return this.isKept;
  }
}

// The required fix follows the measurement until somebody edits it.
function followMeasurement(form) {
  const fix = form.elements.required_fix;
  const suggested = form.elements.suggested_fix;
  const plain = (text) => text.trim().replace(/\s+/g, " ");
  document.addEventListener("htmx:afterSwap", (event) => {
    const fresh = event.target.querySelector?.("[data-fix]")?.dataset.fix;
    if (fresh === undefined || !fix || !suggested) return;
    if (plain(fix.value) === plain(suggested.value) || !fix.value.trim()) {
      fix.value = fresh;
      suggested.value = fresh;
    }
  });
  document.addEventListener("htmx:sendError", (event) => {
    if (event.target.id === "measured-check") {
      event.target.textContent = "No reception: we check the rule when you save.";
    }
  });
}

const marker = document.querySelector("[data-saved]");
if (marker) tidy(marker);
const kept = document.querySelector("form[data-keep]");
if (kept) {
  new KeptForm(kept);
  followMeasurement(kept);
}
