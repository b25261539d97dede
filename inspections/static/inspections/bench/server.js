// One round with the server about one job: what was typed goes there, what stands there comes back.
import { answered, editsOf, forget } from "./store.js";

const BATCH = 100;
const PATIENCE = 15000; // ms
const TAKEN = "another edit has this number already";
const SENT = ["uuid", "user", "step", "field", "typed", "base_version", "typed_at"];

// Numbers of edits that were sent, or tried: what is typed after that is another edit.
export const tried = new Set();

export class SignedOut extends Error {}
export class Away extends Error {}
class Gone extends Error {}

export function plain(edit) {
  return Object.fromEntries(SENT.map((name) => [name, edit[name]]));
}

export class Server {
  // address: of a job's edits, with 0 where the job stands
  constructor(user, address) {
    Object.assign(this, { user, address, token: "", at: null, skew: 0 });
  }

  // Answers what the server says of the job. Throws Away or SignedOut; then all is as it was.
  async round(job) {
    const mine = (await editsOf(this.user)).filter((edit) => edit.job === job);
    const unsent = mine.filter((edit) => edit.state === "unsent").slice(0, BATCH);
    for (const edit of unsent) tried.add(edit.uuid);
    const said = await this.say(job, unsent);
    if (said.user !== this.user) throw new SignedOut();
    if (unsent.length) await this.heard(unsent, said);
    const open = new Set(said.mine.map((edit) => edit.uuid));
    const done = (await editsOf(this.user)).filter(
      (edit) => edit.job === job && edit.state === "kept" && !open.has(edit.uuid),
    );
    await forget(done.map((edit) => edit.uuid));
    return said;
  }

  // A job that is no longer there for this person: what was typed stays here, and that is said.
  async say(job, unsent) {
    try {
      return await (unsent.length ? this.send(job, unsent) : this.ask(job));
    } catch (error) {
      if (!(error instanceof Gone)) throw error;
      const turned = unsent.map(({ uuid }) => ({ uuid, why: "the server no longer shows you this job" }));
      return { user: this.user, job, kept: [], turned, mine: [], others: [], gone: true };
    }
  }

  async heard(unsent, said) {
    const turned = said.turned ?? [];
    await answered(unsent, {
      kept: new Set(said.kept),
      taken: new Set(turned.filter((one) => one.why === TAKEN).map((one) => one.uuid)),
      turned: new Map(turned.map((one) => [one.uuid, one.why])),
    });
  }

  async ask(job) {
    return this.read(await this.fetched(job, {}));
  }

  // A token grows stale when somebody signs in: then a fresh one is asked for, once.
  async send(job, edits) {
    if (!this.token) await this.ask(job);
    const body = JSON.stringify(edits.map(plain));
    for (const isLast of [false, true]) {
      const headers = { "X-CSRFToken": this.token, "Content-Type": "application/json" };
      const answer = await this.fetched(job, { method: "POST", body, headers });
      if (answer.status !== 403) return this.read(answer);
      if (isLast) break;
      const now = await this.ask(job);
      if (now.user !== this.user) return now;
    }
    throw new SignedOut();
  }

  async fetched(job, options) {
    const address = this.address.replace("/0/", `/${job}/`);
    try {
      const signal = AbortSignal.timeout(PATIENCE);
      return await fetch(address, { ...options, signal, redirect: "manual", cache: "no-store" });
    } catch {
      throw new Away();
    }
  }

  // The server's own clock says when it answered, and how far this tablet's is off.
  async read(answer) {
    if (answer.type === "opaqueredirect" || answer.status === 403) throw new SignedOut();
    if (answer.status === 404) throw new Gone();
    if (answer.status >= 500 || !answer.headers.get("Content-Type")?.includes("json")) throw new Away();
    const said = await answer.json();
    const at = Date.parse(answer.headers.get("Date"));
    if (at) {
      this.skew = Date.now() - at;
      this.at = at;
      localStorage.setItem("bench-answered", String(at));
    }
    if (said.token) this.token = said.token;
    if (!said.mine) throw new Away();
    return said;
  }
}
