// Pages kept on this tablet, so that a visited job can be opened without the network.

const PAGES = "bench-pages-";
const ASSETS = "bench-assets";

export const canKeepPages = window.isSecureContext && "serviceWorker" in navigator && "caches" in window;

// Keep these addresses as this person sees them, unless they are held of this version already.
export async function keepPages(worker, user, version, addresses) {
  await navigator.serviceWorker.register(worker);
  await navigator.serviceWorker.ready;
  await forgetOthers(user);
  const assets = keepAssets();
  const pages = await caches.open(PAGES + user);
  for (const address of addresses) {
    const held = await pages.match(address, { ignoreVary: true });
    if (version && held?.headers.get("X-Job-Version") === version) continue;
    const answer = await fetch(address, { redirect: "manual" });
    if (answer.ok && answer.headers.get("X-Bench-User") === String(user)) await pages.put(address, answer);
  }
  await assets;
}

async function keepAssets() {
  const assets = await caches.open(ASSETS);
  const loaded = performance.getEntriesByType("resource").filter(
    ({ name, initiatorType }) => name.startsWith(location.origin) && new URL(name).pathname.includes("/static/")
      && !["fetch", "xmlhttprequest"].includes(initiatorType),
  );
  await Promise.all(loaded.map(async ({ name }) => {
    if (await assets.match(name, { ignoreVary: true })) return;
    const answer = await fetch(name);
    if (answer.ok) await assets.put(name, answer);
  }));
}

export async function forgetOthers(user) {
  if (!("caches" in window)) return;
  for (const name of await caches.keys()) {
    if (name.startsWith(PAGES) && name !== PAGES + user) await caches.delete(name);
  }
}

export async function forgetPages(user) {
  if ("caches" in window) await caches.delete(PAGES + user);
}
