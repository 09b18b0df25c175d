// Sends the forms of the portal without leaving the page, so that poor reception costs nothing:
// without an answer the page stays as it is, with what was typed, ticked and chosen, and says so.
// Without this file the browser sends the forms, and shows its own page when that fails.
//
// Sending again is safe: what a form may do twice carries an id, or what was seen on the page.
// Left alone are forms with data-repeatable (downloads), with data-keep (report.js), those that htmx
// sends, what opens in another tab, and forms with data-plain: those that are answered by a page
// when they did something. Any other answer that is no address means that nothing was done.
//
// What the portal can't take just now (503, a full disk) is sent again by itself after the time that
// it tells, longer each time, for as long as nothing on the form is changed.

import { inWords, pauseAfter, whatIsWrong } from "./again.js";

const PATIENCE_MS = 60_000;
const SOON_MS = 10_000;
const SWAPPED = "form[hx-post]:not([hx-trigger])";
const NO_ANSWER = "No answer: the reception may be poor. Nothing on this page is lost. If it got through, sending it again does nothing twice.";
const FAILED = "The portal could not take this just now. Nothing on this page is lost. Send it again in a minute.";
const SIGNED_OUT = "Not sent: you were signed out. Nothing on this page is lost.";

const busy = new WeakSet();
const waiting = new WeakMap(); // forms that are sent again by themselves: their timer
const tries = new WeakMap();

function isOurs(event) {
  const form = event.target;
  if (event.defaultPrevented || form.method !== "post") return false;
  if (event.submitter?.getAttribute("formtarget") === "_blank") return false;
  return !form.matches(`[data-repeatable], [data-keep], [data-plain], ${SWAPPED}`);
}

function addressOf(form, button) {
  const named = button?.getAttribute("formaction") || form.getAttribute("action");
  return new URL(named || location.href, location.href);
}

// The button that was pressed says what is wanted.
function contentOf(form, button) {
  const data = new FormData(form);
  if (button?.name) data.append(button.name, button.value);
  return data;
}

// --- saying what went wrong -------------------------------------------------------------------

function hush(form) {
  form.parentElement?.querySelector(":scope > [data-trouble], :scope > form > [data-trouble]")?.remove();
}

function say(form, words, ...more) {
  hush(form);
  const note = document.createElement("div");
  note.className = "alert alert-danger";
  note.dataset.trouble = "";
  note.setAttribute("role", "alert");
  note.append(words, ...more.flatMap((one) => [" ", one]));
  const bar = form.querySelector(":scope > .action-bar");
  if (bar) bar.before(note);
  else form.after(note);
  note.scrollIntoView({ block: "center" });
}

function sendAgain(form, button) {
  const again = document.createElement("button");
  again.type = "button";
  again.className = "btn btn-sm btn-outline-primary";
  again.textContent = "Send again";
  again.addEventListener("click", () => send(form, button));
  return again;
}

function sendLater(form, button, answer) {
  const count = tries.get(form) ?? 0;
  const pause = pauseAfter(answer.status, answer.headers.get("Retry-After"), count);
  if (!pause) {
    say(form, FAILED, sendAgain(form, button));
    return;
  }
  tries.set(form, count + 1);
  waiting.set(form, window.setTimeout(() => send(form, button), pause * 1000));
  say(form, `${whatIsWrong(answer.status)} Nothing on this page is lost. It is sent again in ${inWords(pause)}.`, sendAgain(form, button));
}

// Whoever goes on writing sends it when it is ready.
function stopWaiting(form) {
  if (!waiting.has(form)) return;
  window.clearTimeout(waiting.get(form));
  waiting.delete(form);
}
document.addEventListener("input", (event) => {
  const form = event.target.form;
  if (!form || !waiting.has(form)) return;
  stopWaiting(form);
  say(form, "Not sent yet. Nothing on this page is lost: send it when you are ready.");
});

function signIn(address) {
  const link = document.createElement("a");
  link.href = address;
  link.target = "_blank";
  link.textContent = "Sign in in another tab, come back and send again.";
  return link;
}

// --- sending ----------------------------------------------------------------------------------

function goOn(address) {
  const to = new URL(address, location.href);
  history.replaceState({ ...history.state, photos: undefined }, ""); // they belong to what was sent
  if (to.hash && to.pathname === location.pathname && to.search === location.search) {
    history.replaceState(history.state, "", to); // the same page: only a reload shows what is new
    location.reload();
  } else location.assign(to);
}

// Something has to be put right: let the browser send it, and show the page as it comes. Should
// that be stopped on the way, the form is as it was (base.js lets it be sent again).
function sendPlainly(form, button) {
  const before = form.getAttribute("action");
  const pressed = document.createElement("input");
  pressed.type = "hidden";
  if (button?.name) [pressed.name, pressed.value] = [button.name, button.value];
  form.append(pressed);
  form.setAttribute("action", addressOf(form, button));
  HTMLFormElement.prototype.submit.call(form);
  pressed.remove();
  if (before === null) form.removeAttribute("action");
  else form.setAttribute("action", before);
}

async function send(form, button) {
  if (busy.has(form)) return;
  busy.add(form);
  stopWaiting(form);
  hush(form);
  button?.setAttribute("aria-busy", "true");
  try {
    const answer = await fetch(addressOf(form, button), {
      method: "POST",
      body: contentOf(form, button),
      headers: { "X-Answer": "address" },
      signal: AbortSignal.timeout?.(PATIENCE_MS),
    });
    const isAddress = answer.ok && answer.headers.get("Content-Type")?.includes("json");
    const { go, signed_out: signedOut } = isAddress ? await answer.json() : {};
    if (signedOut) say(form, SIGNED_OUT, signIn(new URL(go, location.href).pathname), sendAgain(form, button));
    else if (go) {
      goOn(go);
      window.setTimeout(() => settle(form, button), SOON_MS); // should the next page not come
      return;
    } else if (answer.status >= 500) sendLater(form, button, answer);
    else {
      busy.delete(form);
      sendPlainly(form, button);
      return;
    }
  } catch {
    say(form, NO_ANSWER, sendAgain(form, button));
  }
  settle(form, button);
}

function settle(form, button) {
  busy.delete(form);
  delete form.dataset.sent;
  button?.removeAttribute("aria-busy");
}

// After base.js, which asks the questions and takes over a new token.
document.addEventListener("submit", (event) => {
  if (!isOurs(event)) return;
  event.preventDefault();
  send(event.target, event.submitter);
});

window.addEventListener("pageshow", () => {
  for (const form of document.forms) busy.delete(form);
});

// --- what htmx sends --------------------------------------------------------------------------

for (const name of ["htmx:sendError", "htmx:timeout", "htmx:responseError"]) {
  document.addEventListener(name, (event) => {
    const status = event.detail.xhr?.status ?? 0;
    const sender = event.target;
    if (sender.matches?.(SWAPPED)) {
      if (status === 401) say(sender, SIGNED_OUT, signIn(event.detail.xhr.getResponseHeader("X-Sign-In")));
      else if (status === 507) say(sender, `${whatIsWrong(status)} Nothing on this page is lost.`);
      else say(sender, status >= 500 ? FAILED : NO_ANSWER);
    } else if (status === 401 && sender.getAttribute?.("hx-trigger")?.startsWith("every")) location.reload();
  });
}
document.addEventListener("htmx:beforeRequest", (event) => {
  if (event.target.matches?.(SWAPPED)) hush(event.target);
});
