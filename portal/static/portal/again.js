// When to send again by itself what could not be taken just now, and what to say meanwhile.
//
// The portal answers 503 for what passes by itself and 507 for a full disk, both with Retry-After;
// a proxy in front of it answers 502, 503 or 504 without. Each further try waits longer.

const PAUSES_S = [5, 15, 30, 60];
const LONGEST_S = 600;
const PASSING = [502, 503, 504];
const FULL = 507;

// Seconds until the next try after so many tries, or 0 where trying again by itself is no use.
export function pauseAfter(status, retryAfter, tries) {
  if (status !== FULL && !PASSING.includes(status)) return 0;
  const told = Number.parseInt(retryAfter, 10);
  const pause = told > 0 ? told * 1.5 ** Math.min(tries, 10) : PAUSES_S[Math.min(tries, PAUSES_S.length - 1)];
  // Phones that were turned away together must not all come back together.
  return Math.min(LONGEST_S, Math.ceil(pause * (1 + Math.random() / 4)));
}

export function inWords(seconds) {
  if (seconds < 90) return seconds === 1 ? "1 second" : `${seconds} seconds`;
  return `${Math.round(seconds / 60)} minutes`;
}

export function whatIsWrong(status) {
  return status === FULL
    ? "The portal's disk is full. Tell the office: somebody has to make room."
    : "The portal could not take this just now.";
}
