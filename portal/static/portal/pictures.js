// A picture that was not reachable has a stand-in (portal/photos/serving.py). It is asked for again
// after a while, so that nobody has to load the page anew.

import { isThere } from "./net.js";

const STAND_IN = [404, 303]; // its size in pixels, which no small picture has
const PAUSES_S = [15, 30, 60];
const TRIES = 30;

const watched = new WeakSet();

function isStandIn(image) {
  return image.naturalWidth === STAND_IN[0] && image.naturalHeight === STAND_IN[1];
}

function askAgain(image, address, tries) {
  const pause = PAUSES_S[Math.min(tries, PAUSES_S.length - 1)] * (1 + Math.random() / 4);
  window.setTimeout(async () => {
    if (!image.isConnected || tries >= TRIES) return;
    if (await isThere(address)) {
      image.src = `${address}#${tries}`; // another address to the browser, the same to the portal
      return;
    }
    askAgain(image, address, tries + 1);
  }, pause * 1000);
}

function look(image) {
  if (!(image instanceof HTMLImageElement) || watched.has(image) || !isStandIn(image)) return;
  watched.add(image);
  askAgain(image, image.src, 0);
}

document.addEventListener("load", (event) => look(event.target), true);
for (const image of document.images) if (image.complete) look(image);
