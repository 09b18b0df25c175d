// Small comforts on every page. Each page works without this file.
//   data-confirm="question"   on a form: ask before it is sent
//   data-share                on a button, with data-url and data-title: the phone's share sheet, or copy
//   data-copy="text"          on a button: copy, and say so
//   data-repeatable           on a form: may be sent twice (a download)
//   data-needs-script         with `hidden`: shown only where scripts run
//   data-own-id               on a hidden input: keep its value for the browser's back button
//   data-close                on a button: take its message away
//   data-focus                on an element: move the focus to it when the page opens

import { takeOverToken } from "./net.js";

window.addEventListener("focus", takeOverToken);
document.addEventListener("visibilitychange", takeOverToken);
document.addEventListener("htmx:configRequest", (event) => {
  const fresh = takeOverToken();
  if (fresh) event.detail.headers["X-CSRFToken"] = fresh;
});

document.addEventListener("submit", (event) => {
  takeOverToken();
  const form = event.target;
  const question = form.dataset.confirm || event.submitter?.dataset.confirm;
  if (question && !window.confirm(question)) {
    event.preventDefault();
    return;
  }
  // What opens in another tab leaves this page as it is, to be sent again.
  if (event.submitter?.getAttribute("formtarget") === "_blank") return;
  // A second tap must not send the same thing twice.
  if (form.method === "post" && !event.defaultPrevented && !("repeatable" in form.dataset)) {
    if (form.dataset.sent) {
      event.preventDefault();
      return;
    }
    form.dataset.sent = "yes";
    // Without reception, or stopped by hand, some browsers stay on this page: let it be sent again.
    window.setTimeout(() => {
      delete form.dataset.sent;
      event.submitter?.removeAttribute("aria-busy");
    }, 10_000);
    event.submitter?.setAttribute("aria-busy", "true");
  }
});

// Coming back with the browser's back button must leave forms usable.
window.addEventListener("pageshow", () => {
  for (const form of document.querySelectorAll("form[data-sent]")) delete form.dataset.sent;
  for (const button of document.querySelectorAll("[aria-busy]")) {
    button.removeAttribute("aria-busy");
  }
});
document.addEventListener("htmx:afterRequest", (event) => {
  const form = event.target.closest?.("form");
  if (form) delete form.dataset.sent;
  for (const button of document.querySelectorAll("[aria-busy]")) {
    button.removeAttribute("aria-busy");
  }
});

async function copy(button, text) {
  const before = button.textContent;
  try {
    await navigator.clipboard.writeText(text);
    button.textContent = "Copied";
  } catch {
    window.prompt("Copy this:", text);
  }
  window.setTimeout(() => {
    button.textContent = before;
  }, 2000);
}

document.addEventListener("click", (event) => {
  const button = event.target.closest?.("[data-share], [data-copy]");
  if (!button) return;
  if (button.dataset.copy) {
    copy(button, button.dataset.copy);
  } else if (navigator.share) {
    navigator.share({ title: button.dataset.title, url: button.dataset.url }).catch(() => {});
  } else {
    copy(button, button.dataset.url);
  }
});

// What is sent again after the back button must be the same thing, not a second one: the page may
// come with a fresh id then, and this entry of the browser's history still knows the one before.
function ownIds() {
  return [...document.querySelectorAll("[data-own-id]")];
}
function keepOwnIds() {
  const ids = Object.fromEntries(ownIds().map((input) => [input.name, input.value]));
  if (Object.keys(ids).length) history.replaceState({ ...history.state, ids }, "");
}
for (const input of ownIds()) input.value = history.state?.ids?.[input.name] ?? input.value;
keepOwnIds();
document.addEventListener("submit", keepOwnIds);

// A row of choices that is wider than a phone starts at the one that is chosen.
for (const current of document.querySelectorAll(".filters [aria-current]")) {
  const row = current.closest(".filters");
  row.scrollLeft = current.offsetLeft - row.offsetLeft - 24;
}

// A screen reader says what changes in a region, not what was there when the page came. So what
// was done is put there once more.
window.setTimeout(() => {
  for (const said of document.querySelectorAll(".messages > .alert")) {
    said.replaceWith(said.cloneNode(true));
  }
}, 300);
document.addEventListener("click", (event) =>
  event.target.closest?.("[data-close]")?.parentElement.remove(),
);

for (const element of document.querySelectorAll("[data-needs-script]")) element.hidden = false;
document.querySelector("[data-focus]")?.focus();
