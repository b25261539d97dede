// Photos that wait on this tablet, apart from what is typed: each goes by itself, once, for whoever
// took it. A photo: {uuid, user, job, step, about, name, file, taken_at, state, why}.
//   state: "waits", or "refused" (and why); a refused one stays until whoever took it lets it go

import { newNumber } from "./store.js";

const NAME = "bench-photos";
const PHOTOS = "photos";
const PATIENCE = 120_000; // ms; a large photo over bad wireless
let opened;
let sending = null;

function database() {
  opened ??= new Promise((resolve, reject) => {
    const asked = indexedDB.open(NAME, 1);
    asked.onupgradeneeded = () => asked.result.createObjectStore(PHOTOS, { keyPath: "order", autoIncrement: true });
    asked.onsuccess = () => resolve(asked.result);
    asked.onerror = () => reject(asked.error);
  });
  return opened;
}

async function within(mode, act) {
  const base = await database();
  return new Promise((resolve, reject) => {
    const work = base.transaction(PHOTOS, mode, { durability: "strict" });
    const asked = act(work.objectStore(PHOTOS));
    work.oncomplete = () => resolve(asked?.result);
    work.onerror = work.onabort = () => reject(work.error);
  });
}

// In the order in which they were taken.
export async function photosOf(user) {
  const all = await within("readonly", (photos) => photos.getAll());
  return all.filter((photo) => photo.user === user);
}

// Throws where this tablet has no room left, or keeps nothing.
export async function keepPhoto(photo) {
  const taken_at = new Date().toISOString();
  await within("readwrite", (photos) => photos.add({ uuid: newNumber(), taken_at, ...photo }));
}

export async function forgetPhoto(photo) {
  await within("readwrite", (photos) => photos.delete(photo.order));
}

async function refuse(photo, why) {
  await within("readwrite", (photos) => photos.put({ ...photo, state: "refused", why }));
}

// One run at a time, beside what is typed, which never waits for a photo. A run that breaks off
// leaves the photo where it is; the server keeps one that it has already no second time.
export function sendPhotos(desk, heard) {
  sending ??= run(desk, heard).catch(() => {}).finally(() => (sending = null));
  return sending;
}

async function run(desk, heard) {
  for (const photo of await photosOf(desk.user)) {
    if (photo.state !== "waits") continue;
    const said = await desk.server.say(photo.job, []); // with a fresh token
    if (said.user !== desk.user) return;
    if (said.gone) await refuse(photo, "the server no longer shows you this job");
    else await send(desk, photo, heard);
    await desk.show();
  }
}

async function send(desk, photo, heard) {
  const body = new FormData();
  body.append("typed_by", photo.user);
  body.append("photos", photo.file, photo.name);
  const answer = await fetch(desk.photos.replace("/0/", `/${photo.job}/`).replace("/arrival/", `/${photo.step}/`), {
    method: "POST",
    body,
    headers: { "X-CSRFToken": desk.server.token, Accept: "application/json" },
    redirect: "manual",
    cache: "no-store",
    signal: AbortSignal.timeout(PATIENCE),
  });
  if (answer.status === 413) return refuse(photo, "expected a smaller photo");
  if (answer.status === 404) return refuse(photo, "the server no longer shows you this job");
  if (!answer.headers.get("Content-Type")?.includes("json")) throw new Error("no answer, or signed out");
  const said = await answer.json();
  if (said.user !== photo.user) throw new Error("somebody else is signed in");
  if (said.faults.length) await refuse(photo, said.faults.map((fault) => `expected ${fault.expected}`).join("; "));
  else await forgetPhoto(photo);
  heard(photo, said);
}
