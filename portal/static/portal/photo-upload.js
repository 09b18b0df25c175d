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

import { inWords, postQuietly, upload, whatIsWrong } from "./net.js";
import { UploadQueue } from "./upload-queue.js";

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
    this.queue = new UploadQueue((job) => this.send(job), this);
    this.submitter = undefined;
    this.submitWhenDone = false;
    this.addButton();
    this.input.addEventListener("change", () => this.choose());
    this.form.addEventListener("submit", (event) => this.holdSubmit(event), true);
    window.addEventListener("online", () => this.queue.retryAll());
    for (const row of this.list.querySelectorAll(".is-sent")) {
      this.addRemove(row, row.dataset.photoId);
    }
    for (const answer of this.remembered()) this.bringBack(answer);
    this.choose(); // photos may have been chosen while this script was still on its way
  }

  // The browser's own control would go on saying "No file chosen"; it stays for the keyboard.
  addButton() {
    const button = element(
      "label",
      "btn btn-outline-primary photo-button",
      "Take or choose photos",
    );
    button.htmlFor = this.input.id;
    this.input.classList.add("visually-hidden");
    this.input.after(button);
  }

  choose() {
    for (const file of this.input.files) this.add(file);
    this.input.value = "";
    this.settleRequired();
    this.queue.next();
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
    Object.assign(this.queue.add(file), { row, picture, state, bar });
  }

  send(job) {
    const fields = { id: job.id, photo: job.file };
    return upload(this.input.dataset.photoUpload, fields, (share) => {
      job.bar.value = Math.round(100 * share);
      if (share === 1) job.state.textContent = "Checking";
    });
  }

  // --- what the queue tells ---

  sending(job) {
    job.state.textContent = "Sending";
    job.row.className = "upload-row is-sending";
    job.retryButton?.remove();
    job.leaveOut?.remove();
  }

  sent(job, answer) {
    job.bar.remove();
    job.leaveOut?.remove();
    this.showSent(job, answer);
    this.remember([...this.remembered(), answer]);
    this.settleRequired();
  }

  refused(job, sentence) {
    job.bar.remove();
    job.row.className = "upload-row is-refused";
    job.state.setAttribute("role", "alert");
    job.state.textContent = sentence;
    this.addLeaveOut(job);
  }

  waiting(job, result, pause) {
    job.row.className = "upload-row is-waiting";
    job.bar.value = 0;
    job.state.textContent = this.why(result, pause);
    const again = element("button", "btn btn-sm btn-outline-primary", "Send again");
    again.type = "button";
    again.setAttribute("aria-label", `Send ${job.file.name} again`);
    again.addEventListener("click", () => this.queue.retry(job));
    job.row.append(again);
    job.retryButton = again;
    this.addLeaveOut(job); // what was typed must not wait for a photo that can't be sent
  }

  changed() {
    const sent = this.list.querySelectorAll(".is-sent").length;
    const refused = this.queue.count("refused");
    const waiting = this.queue.pending;
    if (sent || waiting || refused) {
      const parts = [`${sent} sent`];
      if (waiting) parts.push(`${waiting} on the way`);
      if (refused) parts.push(`${refused} not accepted`);
      this.say(`Photos: ${parts.join(", ")}.`);
    }
    const detail = { sent, waiting, refused };
    this.box.dispatchEvent(new CustomEvent("photos:changed", { bubbles: true, detail }));
    this.finish();
  }

  // --- the rows ---

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

  addLeaveOut(job) {
    const close = element("button", "btn btn-sm btn-outline-secondary", "Remove");
    close.type = "button";
    close.setAttribute("aria-label", `Remove ${job.file.name}`);
    close.addEventListener("click", () => this.drop(job));
    job.row.append(close);
    job.leaveOut = close;
  }

  why({ status, answer }, pause) {
    if (pause) {
      const what = answer?.error ?? whatIsWrong(status);
      return `${what} Kept on this page; it will be sent again in ${inWords(pause)}.`;
    }
    return [200, 403, 404].includes(status)
      ? "Not sent: you may have been signed out. Sign in again in another tab, then send again."
      : "No connection. Kept on this page; it will be sent again.";
  }

  drop(job) {
    job.row.remove();
    this.settleRequired();
    this.input.focus();
    this.queue.drop(job);
  }

  addRemove(row, id) {
    const name = row.querySelector(".upload-name").textContent;
    const button = element("button", "btn btn-sm btn-outline-secondary", "Remove");
    button.type = "button";
    button.setAttribute("aria-label", `Remove ${name}`);
    button.addEventListener("click", () => {
      const address = this.input.dataset.photoUpload.replace(/upload\/[^/]+\/$/, `${id}/discard/`);
      postQuietly(address); // swept later if this fails
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

  holdSubmit(event) {
    if (!this.queue.pending) return;
    event.preventDefault();
    event.stopPropagation();
    this.submitWhenDone = true;
    this.submitter = event.submitter;
    this.submitter?.setAttribute("aria-busy", "true");
    this.say("The form is sent when all photos are sent.");
  }

  finish() {
    if (!this.submitWhenDone || this.queue.pending) return;
    this.submitWhenDone = false;
    this.submitter?.removeAttribute("aria-busy");
    if (this.queue.jobs.length) {
      this.say("A photo was not accepted. Remove it or choose another, then try again.");
      return;
    }
    this.form.requestSubmit(this.submitter);
  }

  say(words) {
    this.status.textContent = words;
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
  if (document.querySelector(".upload-row.is-sending, .upload-row.is-waiting")) {
    event.preventDefault();
  }
});
