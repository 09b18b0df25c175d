// Sends photos as soon as they are chosen, several at once, each with a progress bar.
//
// For authors of forms: use the partial templates/portal/photos/_uploader.html inside your form
// and handle_uploads() of portal/photos/forms.py in your view; nothing else is needed. The partial
// holds an <input type="file" multiple data-photo-upload="ADDRESS"> inside [data-photo-uploader].
//
// - Each file gets a UUID here. Sending it again with the same UUID is one photo on the server, so
//   a lost connection needs no care: failed sends are repeated when the phone is online again, or
//   with the Send again button.
// - A photo that was taken in adds <input type="hidden" name="<name>_kept" value="UUID"> to the
//   form; the file input is emptied, so the form carries only ids.
// - The form waits for photos that are still being sent, then goes by itself.
// - Without JavaScript the same input sends the files with the form.
// - "photos:changed" bubbles from the uploader after each change; detail = {sent, waiting, refused}.

import { inWords, pauseAfter, whatIsWrong } from "./again.js";

const AT_ONCE = 2;
const RETRY_AFTER_MS = [2000, 5000, 15000, 30000];

function newId() {
  if (crypto.randomUUID) return crypto.randomUUID();
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = (bytes[6] & 0x0f) | 0x40;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join("-");
}

// The cookie's, which is new once the person signed in again in another tab; else the form's.
function token(form) {
  const cookie = /(?:^|; )csrftoken=([^;]+)/.exec(document.cookie);
  return cookie ? cookie[1] : form.querySelector("[name=csrfmiddlewaretoken]").value;
}

function element(tag, className, text) {
  const made = document.createElement(tag);
  if (className) made.className = className;
  if (text) made.textContent = text;
  return made;
}

class Uploader {
  constructor(box) {
    this.box = box;
    this.input = box.querySelector("input[data-photo-upload]");
    this.list = box.querySelector("[data-photo-list]");
    this.status = box.querySelector("[data-photo-status]");
    this.form = this.input.form;
    this.fieldName = this.input.name;
    this.required = this.input.required || this.input.hasAttribute("data-required");
    this.queue = [];
    this.sending = 0;
    this.submitter = undefined;
    this.submitWhenDone = false;
    this.addButton();
    this.input.addEventListener("change", () => this.choose());
    this.form.addEventListener("submit", (event) => this.holdSubmit(event), true);
    window.addEventListener("online", () => this.retryAll());
    for (const row of this.list.querySelectorAll(".is-sent")) this.addRemove(row, row.dataset.photoId);
    for (const answer of this.remembered()) this.bringBack(answer);
    this.choose(); // photos may have been chosen while this script was still on its way
  }

  // The browser's own control would go on saying "No file chosen"; it stays for the keyboard.
  addButton() {
    const button = element("label", "btn btn-outline-primary photo-button", "Take or choose photos");
    button.htmlFor = this.input.id;
    this.input.classList.add("visually-hidden");
    this.input.after(button);
  }

  choose() {
    for (const file of this.input.files) this.add(file);
    this.input.value = "";
    this.settleRequired();
    this.next();
  }

  newRow(name) {
    const row = element("li", "upload-row is-sending");
    const picture = element("span", "upload-picture");
    const text = element("span", "upload-text");
    const state = element("span", "upload-state", "Waiting");
    text.append(element("span", "upload-name", name), state);
    row.append(picture, text);
    this.list.append(row);
    return { row, picture, state };
  }

  add(file) {
    const { row, picture, state } = this.newRow(file.name);
    const bar = element("progress");
    bar.max = 100;
    bar.value = 0;
    bar.setAttribute("aria-label", `Sending ${file.name}`);
    row.append(bar);
    this.queue.push({ id: newId(), file, row, picture, state, bar, tries: 0, phase: "queued" });
  }

  next() {
    while (this.sending < AT_ONCE) {
      const job = this.queue.find((one) => one.phase === "queued");
      if (!job) break;
      this.send(job);
    }
    this.changed();
  }

  send(job) {
    job.phase = "sending";
    job.state.textContent = "Sending";
    job.row.className = "upload-row is-sending";
    job.retryButton?.remove();
    job.leaveOut?.remove();
    this.sending += 1;
    const body = new FormData();
    body.append("id", job.id);
    body.append("csrfmiddlewaretoken", token(this.form));
    body.append("photo", job.file, job.file.name);
    const request = new XMLHttpRequest();
    request.open("POST", this.input.dataset.photoUpload);
    request.responseType = "json";
    request.timeout = 180000;
    request.upload.addEventListener("progress", (event) => {
      if (!event.lengthComputable) return;
      job.bar.value = Math.round((100 * event.loaded) / event.total);
      if (event.loaded === event.total) job.state.textContent = "Checking";
    });
    request.addEventListener("loadend", () => {
      this.sending -= 1;
      if (request.status === 200 && request.response) this.sent(job, request.response);
      else if (request.status === 400 && request.response?.error) this.refused(job, request.response.error);
      else this.failed(job, request);
      this.next();
      this.finish();
    });
    request.send(body);
  }

  sent(job, answer) {
    this.queue = this.queue.filter((one) => one !== job);
    job.bar.remove();
    job.leaveOut?.remove();
    this.showSent(job, answer);
    this.remember([...this.remembered(), answer]);
    this.settleRequired();
  }

  showSent({ row, picture, state }, answer) {
    row.className = "upload-row is-sent";
    row.dataset.photoId = answer.id;
    state.textContent = ["Sent", ...answer.notes].join(". ");
    const image = element("img");
    image.alt = "";
    image.width = answer.width;
    image.height = answer.height;
    image.src = answer.small;
    picture.append(image);
    const kept = element("input");
    kept.type = "hidden";
    kept.name = `${this.fieldName}_kept`;
    kept.value = answer.id;
    row.append(kept);
    this.addRemove(row, answer.id);
  }

  // Looking at a photo and coming back, or loading the page again, must not lose what was sent:
  // this entry of the browser's history knows it.
  remembered() {
    return history.state?.photos?.[this.fieldName] ?? [];
  }

  remember(answers) {
    const photos = { ...history.state?.photos, [this.fieldName]: answers };
    history.replaceState({ ...history.state, photos }, "");
  }

  bringBack(answer) {
    const name = CSS.escape(`${this.fieldName}_kept`);
    if (this.form.querySelector(`[name=${name}][value="${CSS.escape(answer.id)}"]`)) return;
    const row = this.newRow(answer.filename);
    this.showSent(row, answer);
  }

  refused(job, sentence) {
    job.phase = "refused";
    job.bar.remove();
    job.row.className = "upload-row is-refused";
    job.state.setAttribute("role", "alert");
    job.state.textContent = sentence;
    this.addLeaveOut(job);
  }

  addLeaveOut(job) {
    const close = element("button", "btn btn-sm btn-outline-secondary", "Leave out");
    close.type = "button";
    close.setAttribute("aria-label", `Leave out ${job.file.name}`);
    close.addEventListener("click", () => this.drop(job));
    job.row.append(close);
    job.leaveOut = close;
  }

  failed(job, request) {
    const pause = pauseAfter(request.status, request.getResponseHeader("Retry-After"), job.tries);
    job.phase = "waiting";
    job.row.className = "upload-row is-waiting";
    job.bar.value = 0;
    job.state.textContent = this.why(request, pause);
    const again = element("button", "btn btn-sm btn-outline-primary", "Send again");
    again.type = "button";
    again.setAttribute("aria-label", `Send ${job.file.name} again`);
    again.addEventListener("click", () => this.retry(job));
    job.row.append(again);
    job.retryButton = again;
    this.addLeaveOut(job); // what was typed must not wait for a photo that can't be sent
    const wait = pause * 1000 || RETRY_AFTER_MS[Math.min(job.tries, RETRY_AFTER_MS.length - 1)];
    job.tries += 1;
    window.clearTimeout(job.timer);
    job.timer = window.setTimeout(() => this.retry(job), wait);
  }

  why(request, pause) {
    if (pause) return `${request.response?.error ?? whatIsWrong(request.status)} Kept on this page, sent again in ${inWords(pause)}.`;
    return [200, 403, 404].includes(request.status)
      ? "Not sent: you may have been signed out. Sign in again in another tab, then send again."
      : "No connection. Kept here and sent again by itself.";
  }

  retry(job) {
    if (job.phase !== "waiting" || !this.queue.includes(job)) return; // or it was left out
    job.phase = "queued";
    this.next();
  }

  retryAll() {
    for (const job of this.queue) this.retry(job);
  }

  drop(job) {
    this.queue = this.queue.filter((one) => one !== job);
    job.row.remove();
    this.settleRequired();
    this.input.focus();
    this.changed();
    this.finish();
  }

  addRemove(row, id) {
    const name = row.querySelector(".upload-name").textContent;
    const button = element("button", "btn btn-sm btn-outline-secondary", "Remove");
    button.type = "button";
    button.setAttribute("aria-label", `Remove ${name}`);
    button.addEventListener("click", () => {
      const body = new FormData();
      body.append("csrfmiddlewaretoken", token(this.form));
      const address = this.input.dataset.photoUpload.replace(/upload\/[^/]+\/$/, `${id}/discard/`);
      fetch(address, { method: "POST", body }).catch(() => {}); // swept later if this fails
      this.remember(this.remembered().filter((one) => one.id !== id));
      row.remove();
      this.settleRequired();
      this.input.focus();
      this.changed();
    });
    row.append(button);
  }

  // A required input that was emptied after sending must not stop the form.
  settleRequired() {
    const any = this.list.querySelector(".is-sent, .is-sending, .is-waiting");
    this.input.required = this.required && !any;
  }

  pending() {
    return this.queue.filter((job) => job.phase !== "refused");
  }

  holdSubmit(event) {
    if (!this.pending().length) return;
    event.preventDefault();
    event.stopPropagation();
    this.submitWhenDone = true;
    this.submitter = event.submitter;
    this.submitter?.setAttribute("aria-busy", "true");
    this.say("The form goes as soon as the photos are sent.");
  }

  finish() {
    if (!this.submitWhenDone || this.pending().length) return;
    this.submitWhenDone = false;
    this.submitter?.removeAttribute("aria-busy");
    if (this.queue.length) {
      this.say("A photo was not taken. Leave it out or choose another, then try again.");
      return;
    }
    this.form.requestSubmit(this.submitter);
  }

  say(words) {
    this.status.textContent = words;
  }

  changed() {
    const sent = this.list.querySelectorAll(".is-sent").length;
    const refused = this.queue.filter((job) => job.phase === "refused").length;
    const waiting = this.pending().length;
    if (sent || waiting || refused) {
      const parts = [`${sent} sent`];
      if (waiting) parts.push(`${waiting} on the way`);
      if (refused) parts.push(`${refused} not taken`);
      this.say(`Photos: ${parts.join(", ")}.`);
    }
    this.box.dispatchEvent(new CustomEvent("photos:changed", { bubbles: true, detail: { sent, waiting, refused } }));
  }
}

function enhance(root) {
  for (const box of root.querySelectorAll("[data-photo-uploader]")) {
    if (box.dataset.enhanced) continue;
    box.dataset.enhanced = "yes";
    new Uploader(box);
  }
}

enhance(document);
document.addEventListener("htmx:load", (event) => enhance(event.target));

// Leaving the page while photos are on the way would lose them: ask.
window.addEventListener("beforeunload", (event) => {
  if (document.querySelector(".upload-row.is-sending, .upload-row.is-waiting")) event.preventDefault();
});
