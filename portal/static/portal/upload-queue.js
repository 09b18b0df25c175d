// The photos of a form on their way to the server: a few at once, each under an id of its own, so
// that sending it again is one photo there. What could not be sent is sent again by itself.
//
// A job is {id, file, tries, phase, ...}; its phase is "queued", "sending", "waiting" (for the next
// try) or "refused". It leaves the queue when it was sent or left out.

import { newId, pauseAfter } from "./net.js";

export const AT_ONCE = 2;
const PAUSES_MS = [2_000, 5_000, 15_000, 30_000]; // while there is no answer at all

export class UploadQueue {
  // `send(job)` gives a promise of {status, answer, retryAfter} as in net.js. `show` is told what
  // happens: sending(job), sent(job, answer), refused(job, sentence), waiting(job, result, pause)
  // with the pause in s that the portal asked for or 0, and changed() after each.
  constructor(send, show, clock = globalThis) {
    this.send = send;
    this.show = show;
    this.clock = clock;
    this.jobs = [];
  }

  add(file) {
    const job = { id: newId(), file, tries: 0, phase: "queued" };
    this.jobs.push(job);
    return job;
  }

  // Starts what may go now.
  next() {
    while (this.count("sending") < AT_ONCE) {
      const job = this.jobs.find((one) => one.phase === "queued");
      if (!job) break;
      this.start(job);
    }
    this.show.changed();
  }

  async start(job) {
    job.phase = "sending";
    this.show.sending(job);
    const result = await this.send(job);
    // Left out while it was on its way: whatever came of it, the form does not carry it.
    if (this.jobs.includes(job)) this.settle(job, result);
    this.next();
  }

  settle(job, result) {
    const { status, answer } = result;
    if (status === 200 && answer) {
      this.jobs = this.jobs.filter((one) => one !== job);
      this.show.sent(job, answer);
    } else if (status === 400 && answer?.error) {
      job.phase = "refused";
      this.show.refused(job, answer.error);
    } else this.wait(job, result);
  }

  wait(job, result) {
    const pause = pauseAfter(result.status, result.retryAfter, job.tries);
    const wait = pause * 1000 || PAUSES_MS[Math.min(job.tries, PAUSES_MS.length - 1)];
    job.phase = "waiting";
    job.tries += 1;
    job.timer = this.clock.setTimeout(() => this.retry(job), wait);
    this.show.waiting(job, result, pause);
  }

  retry(job) {
    if (job.phase !== "waiting" || !this.jobs.includes(job)) return; // or it was left out
    this.clock.clearTimeout(job.timer);
    job.phase = "queued";
    this.next();
  }

  retryAll() {
    for (const job of this.jobs) this.retry(job);
  }

  drop(job) {
    this.jobs = this.jobs.filter((one) => one !== job);
    this.show.changed();
  }

  count(phase) {
    return this.jobs.filter((job) => job.phase === phase).length;
  }

  // What a form waits for: all but what the portal does not take.
  get pending() {
    return this.jobs.length - this.count("refused");
  }
}
