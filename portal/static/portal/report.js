// Writing at the wall with patchy reception. What is typed into a form with data-keep stays on
// this phone until the server has it; sending again is safe, because the form carries its own id.

import { inWords, pauseAfter, whatIsWrong } from "./again.js";

(() => {
  const PREFIX = "kept-item:";
  const PATIENCE_MS = 60_000;
  const NOT_KEPT = new Set(["csrfmiddlewaretoken", "photos", "then"]);

  function read(name) {
    try {
      return JSON.parse(localStorage.getItem(name));
    } catch {
      return null;
    }
  }
  function write(name, value) {
    try {
      localStorage.setItem(name, JSON.stringify(value));
    } catch {
      // A full or forbidden store: the form itself still holds what was typed.
    }
  }
  function drop(name) {
    try {
      localStorage.removeItem(name);
    } catch {
      // Nothing was kept.
    }
  }
  function keptNames() {
    try {
      return Object.keys(localStorage).filter((name) => name.startsWith(PREFIX));
    } catch {
      return [];
    }
  }
  function timeWords(at) {
    return new Date(at).toLocaleTimeString("en-AU", { hour: "numeric", minute: "2-digit" });
  }

  // The server has it: forget what was kept.
  const marker = document.querySelector("[data-saved]");
  if (marker?.dataset.saved) {
    for (const name of keptNames()) {
      if (read(name)?.values?.item_id?.[0] === marker.dataset.saved) drop(name);
    }
  }

  // An item that stands in the report was saved, even where the answer never came. What was typed
  // for it must not come back in the form of the next one, or the two would be one item.
  function settle(entry) {
    const id = entry.values?.item_id?.[0];
    const link = id && document.querySelector(`main a[href*="${CSS.escape(id)}"]`);
    if (!link || !entry.name.startsWith(`${PREFIX}new:`)) return;
    drop(entry.name);
    if (!entry.sent) write(`${PREFIX}item:${id}`, { ...entry, url: link.getAttribute("href") });
  }
  if (marker) {
    for (const name of keptNames()) settle({ name, ...read(name) });
  }

  // What was typed and never saved, on the pages of its report.
  const drafts = document.querySelector("[data-kept-drafts]");
  if (drafts && marker) {
    const kept = keptNames().map((name) => ({ name, ...read(name) }))
      .filter((entry) => entry.report === marker.dataset.report);
    if (kept.length) {
      const title = document.createElement("p");
      title.textContent = "Typed on this phone and not saved yet:";
      const list = document.createElement("ul");
      for (const entry of kept) {
        const item = document.createElement("li");
        const link = document.createElement("a");
        link.href = entry.url;
        link.className = "btn btn-sm btn-outline-primary";
        link.textContent = `Go on with: ${entry.title} (${timeWords(entry.at)})`;
        const away = document.createElement("button");
        away.type = "button";
        away.className = "btn btn-sm btn-quiet";
        away.textContent = "Throw away";
        away.setAttribute("aria-label", `Throw away: ${entry.title}`);
        away.addEventListener("click", () => {
          drop(entry.name);
          item.remove();
          drafts.hidden = !list.children.length;
        });
        item.append(link, " ", away);
        list.append(item);
      }
      drafts.append(title, list);
      drafts.hidden = false;
    }
  }

  const form = document.querySelector("form[data-keep]");
  if (!form) return;
  const name = PREFIX + form.dataset.keep;
  const note = document.querySelector("[data-kept-note]");
  const fix = form.elements.required_fix;
  const suggested = form.elements.suggested_fix;
  const plain = (text) => text.trim().replace(/\s+/g, " ");

  function say(text, wrong = false, button = null) {
    note.replaceChildren(text, ...(button ? [" ", button] : []));
    note.classList.toggle("is-wrong", wrong);
    note.hidden = false;
  }

  function values() {
    const found = {};
    for (const [key, value] of new FormData(form)) {
      if (typeof value === "string" && !NOT_KEPT.has(key)) (found[key] ??= []).push(value);
    }
    return found;
  }

  let timer;
  let saved = false;
  let sentBefore = "";
  // `sent`: nothing else was ever sent for this item, so if it is there, this is what it says.
  function keep(isSent = false) {
    clearTimeout(timer);
    timer = 0;
    if (saved) return;
    const now = JSON.stringify(values());
    const sent = isSent && (!sentBefore || sentBefore === now);
    if (isSent) sentBefore = now;
    write(name, {
      values: values(),
      at: Date.now(),
      sent,
      url: location.pathname + location.search,
      title: form.dataset.keepTitle,
      report: form.dataset.keepReport,
    });
  }
  form.addEventListener("input", () => {
    clearTimeout(timer);
    timer = setTimeout(() => keep(), 300);
  });
  window.addEventListener("pagehide", () => {
    if (timer && read(name)) keep();
  });

  function restore(entry) {
    for (const [key, list] of Object.entries(entry.values)) {
      if (key === "photos_kept") {
        for (const id of list) addKeptPhoto(id);
        continue;
      }
      const field = form.elements[key];
      if (field && field.type !== "file") field.value = list[0];
    }
    const photos = entry.values.photos_kept?.length ?? 0;
    const away = document.createElement("button");
    away.type = "button";
    away.className = "btn btn-sm btn-outline-primary";
    away.textContent = "Start afresh";
    away.addEventListener("click", () => {
      drop(name);
      location.reload();
    });
    const pictures = photos ? ` ${photos === 1 ? "One photo" : `${photos} photos`} came through before.` : "";
    const again = entry.sent ? " No answer came: Save sends the same item again." : "";
    const what = `Brought back what you typed at ${timeWords(entry.at)}.${again}`;
    say(`${what}${pictures}`, false, away);
    form.dispatchEvent(new Event("input", { bubbles: true }));
    form.elements.measured_value?.dispatchEvent(new Event("input", { bubbles: true }));
  }

  function addKeptPhoto(id) {
    if (form.querySelector(`input[name="photos_kept"][value="${CSS.escape(id)}"]`)) return;
    const input = document.createElement("input");
    input.type = "hidden";
    input.name = "photos_kept";
    input.value = id;
    form.append(input);
  }

  const before = read(name);
  if (before && !form.querySelector(".form-errors")) restore(before);

  // The required fix follows the measurement until somebody edits it.
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
      event.target.textContent = "No reception: the rule is looked at when you save.";
    }
  });

  function offerAgain(button, why) {
    const again = document.createElement("button");
    again.type = "button";
    again.className = "btn btn-primary";
    again.textContent = "Send again";
    again.addEventListener("click", () => form.requestSubmit(button));
    say(`${why} Nothing is lost: it is kept on this phone since ${timeWords(Date.now())}.`, true, again);
    note.scrollIntoView({ block: "center" });
  }

  // Sending: with an answer the page goes on; without one nothing is lost. What could not be taken
  // just now goes again by itself, unless somebody goes on writing.
  let sending = false;
  let tries = 0;
  let again = 0;
  function sendLater(button, answer) {
    const pause = pauseAfter(answer.status, answer.headers.get("Retry-After"), tries);
    const why = whatIsWrong(answer.status);
    offerAgain(button, pause ? `${why} It is sent again in ${inWords(pause)}.` : why);
    if (!pause) return;
    tries += 1;
    again = window.setTimeout(() => form.requestSubmit(button), pause * 1000);
  }
  form.addEventListener("input", () => {
    if (again) say("Not sent yet. Send it when you are ready: it is kept on this phone.");
    window.clearTimeout(again);
    again = 0;
  });
  form.addEventListener("submit", async (event) => {
    if (form.dataset.plain) return;
    event.preventDefault();
    if (sending) return;
    sending = true;
    window.clearTimeout(again);
    again = 0;
    keep(true);
    const button = event.submitter;
    button?.setAttribute("aria-busy", "true");
    const data = new FormData(form, button);
    const input = form.querySelector("input[type=file]");
    if (input && !input.files.length) data.delete(input.name);
    try {
      const answer = await fetch(form.action, {
        method: "POST",
        body: data,
        headers: { "X-Answer": "address" },
        signal: AbortSignal.timeout?.(PATIENCE_MS),
      });
      if (answer.ok && answer.headers.get("Content-Type")?.includes("json")) {
        const { go, signed_out: signedOut } = await answer.json();
        saved = !signedOut;
        if (saved) drop(name);
        location.assign(go);
        return;
      }
      if (answer.status >= 500) {
        sendLater(button, answer);
        return;
      }
      // Something has to be put right: let the browser send it and show the page as it comes.
      form.dataset.plain = "yes";
      delete form.dataset.sent;
      form.requestSubmit(button);
    } catch {
      offerAgain(button, "No reception.");
      window.addEventListener("online", () => form.requestSubmit(button), { once: true });
    } finally {
      sending = false;
      button?.removeAttribute("aria-busy");
    }
  });
})();
