// Sends the forms of the portal without leaving the page, so that poor reception costs nothing:
// without an answer the page stays as it is, with what was typed, ticked and chosen, and says so.
// Without this file the browser sends the forms, and shows its own page when that fails.
//
// Sending again is safe: what a form may do twice carries an id, or what was seen on the page.
// Left alone are forms with data-repeatable (downloads), those that htmx sends, what opens in
// another tab, and forms with data-plain: those that are answered by a page when they did
// something. Any other answer that is no address means that nothing was done.
//
// What the portal can't take just now (503, a full disk) is sent again by itself after the time that
// it tells, longer each time, for as long as nothing on the form is changed.

import { inWords, pauseAfter, postForm, whatIsWrong } from "./net.js";

const SOON_MS = 10_000;
const SWAPPED = "form[hx-post]:not([hx-trigger])";
const SAFE = "Nothing on this page is lost.";
const FAILED = `${whatIsWrong(500)} ${SAFE} Send it again in a minute.`;
const NO_ANSWER = `No answer: the reception may be poor. ${SAFE} You can send it again: nothing is done twice.`;
const SIGNED_OUT = `Not sent: you were signed out. ${SAFE}`;
const LEFT_TO_YOU = "Not sent yet. Nothing on this page is lost: send it when you are ready.";

const busy = new WeakSet();
const waiting = new WeakMap(); // forms that are sent again by themselves: their timer
const tries = new WeakMap();
const owners = new WeakMap();

// What a page does itself about one of its forms; each of these may be left out:
//   sending()                       before it is sent
//   arrived()                       the server has it
//   signedOut(address)              true: nothing more is to be said
//   noAnswer(button)                instead of saying so
//   failed(button, status, pause)   instead of saying so; sent again in `pause` s, 0: not
//   leftToYou()                     instead of saying that it is not sent by itself any more
export function own(form, doings) {
  owners.set(form, doings);
}

function ownerOf(form) {
  return owners.get(form) ?? {};
}

function isOurs(event) {
  const form = event.target;
  if (event.defaultPrevented || form.method !== "post") return false;
  if (event.submitter?.getAttribute("formtarget") === "_blank") return false;
  return !form.matches(`[data-repeatable], [data-plain], ${SWAPPED}`);
}

function addressOf(form, button) {
  const named = button?.getAttribute("formaction") || form.getAttribute("action");
  return new URL(named || location.href, location.href);
}

// The button that was pressed says what is wanted. An input without a file has nothing to send.
function contentOf(form, button) {
  const data = new FormData(form);
  if (button?.name) data.append(button.name, button.value);
  for (const input of form.querySelectorAll("input[type=file]")) {
    if (input.name && !input.files.length) data.delete(input.name);
  }
  return data;
}

// --- saying what went wrong -------------------------------------------------------------------

function hush(form) {
  form.parentElement
    ?.querySelector(":scope > [data-trouble], :scope > form > [data-trouble]")
    ?.remove();
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

export function sendAgain(form, button, look = "btn btn-sm btn-outline-primary") {
  const again = document.createElement("button");
  again.type = "button";
  again.className = look;
  again.textContent = "Send again";
  again.addEventListener("click", () => goAgain(form, button));
  return again;
}

// Photos that were chosen meanwhile go first: photo-upload.js holds the form back for them.
export function goAgain(form, button) {
  if (form.querySelector(".upload-row.is-sending, .upload-row.is-waiting")) {
    form.requestSubmit(button);
  } else send(form, button);
}

function sayFailed(form, button, status, pause) {
  const words = pause
    ? `${whatIsWrong(status)} ${SAFE} It will be sent again in ${inWords(pause)}.`
    : FAILED;
  say(form, words, sendAgain(form, button));
}

function sendLater(form, button, status, retryAfter) {
  const count = tries.get(form) ?? 0;
  const pause = pauseAfter(status, retryAfter, count);
  const owner = ownerOf(form);
  if (owner.failed) owner.failed(button, status, pause);
  else sayFailed(form, button, status, pause);
  if (!pause) return;
  tries.set(form, count + 1);
  waiting.set(
    form,
    window.setTimeout(() => send(form, button), pause * 1000),
  );
}

// Whoever goes on writing sends it when it is ready.
function stopWaiting(form) {
  window.clearTimeout(waiting.get(form));
  return waiting.delete(form);
}
document.addEventListener("input", (event) => {
  const form = event.target.form ?? event.target.closest?.("form");
  if (!form || !stopWaiting(form)) return;
  (ownerOf(form).leftToYou ?? (() => say(form, LEFT_TO_YOU)))();
});

function signIn(address) {
  const link = document.createElement("a");
  link.href = address;
  link.target = "_blank";
  link.textContent = "Sign in in another tab, come back and send again.";
  return link;
}

function saySignedOut(form, button, address) {
  const page = new URL(address, location.href).pathname;
  say(form, SIGNED_OUT, signIn(page), sendAgain(form, button));
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
  const owner = ownerOf(form);
  owner.sending?.();
  button?.setAttribute("aria-busy", "true");
  const result = await postForm(addressOf(form, button), contentOf(form, button));
  if (result.go) {
    owner.arrived?.();
    goOn(result.go);
    window.setTimeout(() => settle(form, button), SOON_MS); // should the next page not come
    return;
  }
  if (result.putRight) {
    busy.delete(form);
    sendPlainly(form, button);
    return;
  }
  if (result.signedOut) {
    if (!owner.signedOut?.(result.signedOut)) saySignedOut(form, button, result.signedOut);
  } else if (result.failed) sendLater(form, button, result.failed, result.retryAfter);
  else if (owner.noAnswer) owner.noAnswer(button);
  else say(form, NO_ANSWER, sendAgain(form, button));
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
      if (status === 401) {
        say(sender, SIGNED_OUT, signIn(event.detail.xhr.getResponseHeader("X-Sign-In")));
      } else if (status === 507) say(sender, `${whatIsWrong(status)} ${SAFE}`);
      else say(sender, status >= 500 ? FAILED : NO_ANSWER);
    } else if (status === 401 && sender.getAttribute?.("hx-trigger")?.startsWith("every")) {
      location.reload();
    }
  });
}
document.addEventListener("htmx:beforeRequest", (event) => {
  if (event.target.matches?.(SWAPPED)) hush(event.target);
});
