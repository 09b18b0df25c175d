// The SHA-256 of a file, worked out by the browser: the file goes nowhere.

export const MOST_BYTES = 1_000_000_000; // WebCrypto wants all of it in memory

export function hex(buffer) {
  return [...new Uint8Array(buffer)].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}

// Null where the browser can't: WebCrypto is there only with TLS or on this machine.
export async function digestOf(file, subtle = globalThis.crypto?.subtle) {
  if (!subtle || file.size > MOST_BYTES) return null;
  return hex(await subtle.digest("SHA-256", await file.arrayBuffer()));
}
