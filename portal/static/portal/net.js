// The one way of our scripts to the server, and to what the browser keeps.
//
// What is sent carries the token of the session, and no answer is waited for without end. Whoever
// sends learns what became of it and never gets an exception: no answer is an answer too. What may
// arrive twice carries an id that is made here, so that the server can tell.
//
// The portal answers 503 for what passes by itself and 507 for a full disk, both with Retry-After;
// a proxy in front of it answers 502, 503 or 504 without. Each further try waits longer.

export const FORM_PATIENCE_MS = 60_000;
export const UPLOAD_PATIENCE_MS = 180_000;
export const DATA_PATIENCE_MS = 30_000; // a connection that is gone may not say so for minutes

// --- the token --------------------------------------------------------------------------------

function cookieToken() {
  return /(?:^|; )(?:__Host-)?csrftoken=([^;]+)/.exec(document.cookie)?.[1] ?? "";
}

// The cookie's, which is new once the person signed in again in another tab; else the page's.
export function token() {
  return cookieToken() || (document.querySelector("[name=csrfmiddlewaretoken]")?.value ?? "");
}

// Signing in again in another tab changes the token that forms are sent with. Take the new one
// over, or a page that was open meanwhile would be refused with everything typed into it.
export function takeOverToken() {
  const fresh = cookieToken();
  if (!fresh) return "";
  for (const input of document.querySelectorAll("[name=csrfmiddlewaretoken]")) input.value = fresh;
  return fresh;
}

// --- ids --------------------------------------------------------------------------------------

// A UUID, also where the browser makes none because the page came without TLS.
export function newId() {
  if (globalThis.crypto.randomUUID) return globalThis.crypto.randomUUID();
  const bytes = globalThis.crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = (bytes[6] & 0x0f) | 0x40;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return hex.replace(/^(.{8})(.{4})(.{4})(.{4})(.{12})$/, "$1-$2-$3-$4-$5");
}

// --- sending again ----------------------------------------------------------------------------

const PAUSES_S = [5, 15, 30, 60];
const LONGEST_S = 600;
const PASSING = [502, 503, 504];
const FULL = 507;

// Seconds until the next try after so many tries, or 0 where trying again by itself is no use.
export function pauseAfter(status, retryAfter, tries) {
  if (status !== FULL && !PASSING.includes(status)) return 0;
  const told = Number.parseInt(retryAfter, 10);
  const pause =
    told > 0 ? told * 1.5 ** Math.min(tries, 10) : PAUSES_S[Math.min(tries, PAUSES_S.length - 1)];
  // Phones that were turned away together must not all come back together.
  return Math.min(LONGEST_S, Math.ceil(pause * (1 + Math.random() / 4)));
}

export function inWords(seconds) {
  if (seconds < 90) return seconds === 1 ? "1 second" : `${seconds} seconds`;
  return `${Math.round(seconds / 60)} minutes`;
}

// Status 0 is no answer at all.
export function whatIsWrong(status) {
  if (!status) return "No connection.";
  return status === FULL
    ? "The portal's disk is full. Tell the office, so that they make room."
    : "The portal can't accept this just now.";
}

// --- sending ----------------------------------------------------------------------------------

function within(patience, options) {
  return { signal: AbortSignal.timeout?.(patience), ...options };
}

function isJson(answer) {
  return (answer.headers.get("Content-Type") ?? "").includes("json");
}

// A form as the person filled it in. What became of it:
//   {go}                        done: the address of the page to go on to
//   {signedOut}                 not done: the address to sign in at
//   {failed, retryAfter}        not done: the status, and when the portal wants it again
//   {putRight: true}            not done: the portal shows a page about what to put right
//   {noAnswer: true}            nobody knows: it may have got through
export async function postForm(address, body, patience = FORM_PATIENCE_MS) {
  try {
    const headers = { "X-Answer": "address" };
    const answer = await fetch(address, within(patience, { method: "POST", body, headers }));
    if (answer.ok && isJson(answer)) {
      const { go, signed_out: signedOut } = await answer.json();
      if (signedOut) return { signedOut: go };
      if (go) return { go };
    }
    if (answer.status < 500) return { putRight: true };
    return { failed: answer.status, retryAfter: answer.headers.get("Retry-After") };
  } catch {
    return { noAnswer: true };
  }
}

// Data, and what the server says to it: {status, answer, retryAfter}. Status 0: no answer. Where
// it answers with another page than was asked for, the person was signed out: status 403.
export async function postData(address, data, patience = DATA_PATIENCE_MS) {
  try {
    const headers = { "Content-Type": "application/json", "X-CSRFToken": token() };
    const body = JSON.stringify(data);
    const answer = await fetch(address, within(patience, { method: "POST", body, headers }));
    const retryAfter = answer.headers.get("Retry-After");
    if (answer.redirected || !isJson(answer)) {
      return { status: answer.ok ? 403 : answer.status, answer: {}, retryAfter };
    }
    return { status: answer.status, answer: await answer.json(), retryAfter };
  } catch {
    return { status: 0, answer: {}, retryAfter: null };
  }
}

function formOf(fields) {
  const body = new FormData();
  body.append("csrfmiddlewaretoken", token());
  for (const [name, value] of Object.entries(fields)) body.append(name, value);
  return body;
}

// A wish that needs no answer.
export async function postQuietly(address, fields = {}) {
  try {
    const patience = within(DATA_PATIENCE_MS, { method: "POST", body: formOf(fields) });
    return (await fetch(address, patience)).ok;
  } catch {
    return false;
  }
}

// A file with what belongs to it; `onProgress(share)` while it goes. The answer is as postData's,
// whose JSON may be missing (null).
export function upload(address, fields, onProgress, patience = UPLOAD_PATIENCE_MS) {
  return new Promise((resolve) => {
    const request = new XMLHttpRequest(); // fetch does not tell how much of a body has left
    request.open("POST", address);
    request.responseType = "json";
    request.timeout = patience;
    request.upload.addEventListener("progress", (event) => {
      if (event.lengthComputable) onProgress(event.loaded / event.total);
    });
    request.addEventListener("loadend", () => {
      const retryAfter = request.getResponseHeader("Retry-After");
      resolve({ status: request.status, answer: request.response, retryAfter });
    });
    request.send(formOf(fields));
  });
}

// Whether there is something at an address by now, past what the browser has kept of it.
export async function isThere(address) {
  try {
    return (await fetch(address, within(FORM_PATIENCE_MS, { cache: "reload" }))).ok;
  } catch {
    return false;
  }
}

// --- keeping ----------------------------------------------------------------------------------

// The browser's store may be forbidden, full, or hold what somebody else wrote: reading finds
// nothing then, and writing says that nothing is kept.
function attempt(work, otherwise) {
  try {
    return work() ?? otherwise;
  } catch {
    return otherwise;
  }
}

export const store = {
  read: (name) => attempt(() => JSON.parse(globalThis.localStorage.getItem(name)), null),
  write: (name, value) =>
    attempt(() => {
      globalThis.localStorage.setItem(name, JSON.stringify(value));
      return true;
    }, false),
  drop: (name) => attempt(() => globalThis.localStorage.removeItem(name), null),
  names: (prefix) =>
    attempt(
      () => Object.keys(globalThis.localStorage).filter((name) => name.startsWith(prefix)),
      [],
    ),
};

// One thing in that store.
export function keeper(name) {
  return {
    read: () => store.read(name),
    write: (value) => store.write(name, value),
    drop: () => store.drop(name),
  };
}
