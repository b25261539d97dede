// Steps that were saved while the server did not answer, in the order in which they were saved.

const SAVES = "bench-saves";
const SAVED = "opaqueredirect"; // the server sends a saved step onward

export async function waitingOf(user) {
  if (!("caches" in window)) return [];
  const saves = await caches.open(SAVES);
  const waiting = [];
  for (const request of await saves.keys()) {
    const one = await (await saves.match(request)).json();
    if (one.user === user) waiting.push({ ...one, key: request.url });
  }
  return waiting;
}

// Send them. Answers {saved, undone}: the addresses of steps saved, and of those which the server
// would not save as they were typed; their fields still stand as typed and not saved.
// Throws where the server does not answer; `signedOut` where it no longer knows us.
export async function sendWaiting(user, token) {
  const done = { saved: [], undone: [] };
  for (const one of await waitingOf(user)) {
    const answer = await fetch(one.url, {
      method: "POST",
      body: new URLSearchParams(one.typed.map((pair) => (pair[0] === "csrfmiddlewaretoken" ? [pair[0], token] : pair))),
      redirect: "manual",
    });
    if (answer.status >= 500) throw new Error("the server did not save it");
    if (answer.status === 403) throw Object.assign(new Error("signed out"), { signedOut: true });
    const saves = await caches.open(SAVES);
    const now = await (await saves.match(one.key))?.json();
    if (JSON.stringify(now?.typed) === JSON.stringify(one.typed)) await saves.delete(one.key); // not typed anew
    (answer.type === SAVED ? done.saved : done.undone).push(one.url);
  }
  return done;
}
