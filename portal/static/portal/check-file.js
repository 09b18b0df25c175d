// Check a file: chosen or dropped, its fingerprint goes into the form, and the form asks.

import { digestOf } from "./file-digest.js";

const form = document.querySelector("[data-check-file]");
const choose = form.querySelector("[data-choose]");
const input = choose.querySelector("input");
const state = choose.querySelector("[data-state]");

async function check(file) {
  state.textContent = `Reading ${file.name}…`;
  const digest = await digestOf(file).catch(() => null);
  if (!digest) {
    state.textContent = `${file.name} can’t be read here. Work out its SHA-256 with sha256sum and paste it below.`;
    return;
  }
  form.elements.digest.value = digest;
  form.requestSubmit();
}

choose.hidden = false;
form.querySelector("[data-without-script]").hidden = true;
input.addEventListener("change", () => input.files[0] && check(input.files[0]));
form.addEventListener("dragover", (event) => event.preventDefault());
form.addEventListener("drop", (event) => {
  event.preventDefault();
  const file = event.dataTransfer.files[0];
  if (file) check(file);
});
