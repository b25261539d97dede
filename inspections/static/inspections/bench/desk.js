// What every page of the bench does: send what waits on this tablet, say how it stands, list what
// is typed and not saved.
import { lineWords, say } from "./line.js";
import { canKeepPages, keepPages } from "./pages.js";
import { Away, Server, SignedOut } from "./server.js";
import { editsOf } from "./store.js";
import { sendWaiting, waitingOf } from "./waiting.js";
import { list } from "./left.js";
import { photosOf, sendPhotos } from "./pictures.js";
import { showPhotos } from "./queue.js";

const POLL = 10_000; // ms between rounds while all is well
const SOON = 600; // after the last key
const RETRY = [1000, 2000, 4000, 8000, 15_000, 30_000];

export class Desk {
  // element: #kept, which says who, where and what this page is about; job 0 is no job
  constructor(element, heard = () => {}) {
    const { user, edits, job, version, step, ref, steps, photos } = element.dataset;
    Object.assign(this, { element, heard, step: step ?? "", ref: ref ?? "", steps: steps ?? "", photos });
    this.user = Number(user);
    this.job = Number(job ?? 0);
    this.version = Number(version ?? 0);
    this.server = new Server(this.user, edits);
    this.server.at = Number(localStorage.getItem("bench-answered")) || null;
    this.state = "start";
    Desk.here = this; // the one of this page
    this.failures = 0;
    this.photoCame = () => {};
    this.said = new Map(); // job: what the server last said of it
    addEventListener("online", () => this.soon(0));
    document.addEventListener("visibilitychange", () => document.hidden || this.soon(0));
  }

  soon(milliseconds = SOON) {
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.round(), milliseconds);
  }

  // One at a time: what comes meanwhile waits for the next.
  async round() {
    if (this.busy) return (this.again = true);
    this.busy = true;
    try {
      await this.exchange();
      this.state = "kept";
      this.failures = 0;
    } catch (error) {
      this.state = error instanceof SignedOut || error.signedOut ? "out" : "away";
      this.broken ||= error instanceof DOMException && error.name !== "AbortError" && error.name !== "TimeoutError";
      this.failures += 1;
    }
    this.busy = false;
    await this.show();
    if (this.state === "kept") sendPhotos(this, (photo, said) => this.photoCame(photo, said));
    const rest = this.failures ? RETRY[Math.min(this.failures, RETRY.length) - 1] : POLL;
    this.soon(this.again ? SOON : document.hidden ? 3 * POLL : rest);
    this.again = false;
    return this.state;
  }

  async exchange() {
    if (!navigator.onLine) throw new Away();
    const unsent = (await editsOf(this.user)).filter((edit) => edit.state === "unsent");
    const jobs = new Set([...(this.job ? [this.job] : []), ...unsent.map((edit) => edit.job)]);
    const waiting = await waitingOf(this.user);
    if (!jobs.size && waiting.length) jobs.add(jobOf(waiting[0].url));
    for (const job of jobs) this.said.set(job, await this.server.round(job));
    if (waiting.length) await this.saveWaiting(jobs);
    if (this.job) await this.heard(this.said.get(this.job));
  }

  async saveWaiting(jobs) {
    const { saved, undone } = await sendWaiting(this.user, this.server.token);
    for (const url of [...saved, ...undone]) jobs.add(jobOf(url));
    for (const job of jobs) this.said.set(job, await this.server.round(job));
    if (saved.includes(location.href) && !this.touched) location.reload();
  }

  async show() {
    const edits = this.broken ? [] : await editsOf(this.user);
    const waiting = await waitingOf(this.user);
    const unsent = edits.filter((edit) => edit.state === "unsent" && edit.typed !== null).length;
    const photos = await photosOf(this.user).catch(() => []);
    const said = this.said.get(this.job);
    say(
      this.element.querySelector("[role=status]"),
      lineWords({
        state: this.state,
        at: this.server.at,
        unsent,
        waiting: waiting.length,
        photos: photos.filter((photo) => photo.state === "waits").length,
        typed: this.touched || edits.length > 0,
        canKeep: canKeepPages,
        broken: this.broken,
        skew: this.server.skew,
        isOlder: Boolean(this.version && said && said.version > this.version),
      }),
    );
    list(this, edits, waiting);
    showPhotos(this, photos);
  }

  async keepPages(addresses) {
    if (!canKeepPages) return;
    try {
      await keepPages(this.element.dataset.worker, this.user, this.version && String(this.version), addresses);
    } catch {
      // without the network, or signed out: what is held stays
    }
  }
}

export function jobOf(url) {
  return Number(new URL(url).pathname.match(/\/(\d+)\//)?.[1]);
}
