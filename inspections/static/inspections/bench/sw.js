// Keeps the bench open without the network: pages that were kept are read from the tablet, and a
// step that is saved waits here until the server answers. It throws nothing away; the pages of a
// person go when they sign out (leave.js), a waiting step goes when the server has it (waiting.js).
const PAGES = "bench-pages-";
const ASSETS = "bench-assets";
const SAVES = "bench-saves";
const DOWN = [502, 503, 504];
const PATIENCE = { page: 8000, save: 20000 }; // ms; bad wireless hangs where it should fail
const HASHED = /\.[0-9a-f]{12}\.\w+$/; // its name changes with its content

const reach = new URL(self.registration.scope).pathname;

self.addEventListener("install", () => self.skipWaiting());
self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim()));

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (url.origin !== self.location.origin) return;
  if (request.mode === "navigate" && url.pathname.startsWith(reach)) {
    event.respondWith(request.method === "POST" ? save(request) : page(request));
  } else if (request.method === "GET" && url.pathname.includes("/static/")
    && ["style", "script", "font", "image"].includes(request.destination)) {
    event.respondWith(asset(request)); // never a photo: those are asked for each time, with their right
  }
});

function inTime(answer, milliseconds) {
  const late = new Promise((_, fail) => setTimeout(() => fail(new Error("no answer")), milliseconds));
  return Promise.race([answer, late]);
}

async function page(request) {
  const held = await keptPage(request.url);
  try {
    const answer = await (held ? inTime(fetch(request), PATIENCE.page) : fetch(request));
    return held && DOWN.includes(answer.status) ? held : answer;
  } catch {
    return held ?? away();
  }
}

async function keptPage(address) {
  for (const name of await caches.keys()) {
    if (!name.startsWith(PAGES)) continue;
    const held = await (await caches.open(name)).match(address, { ignoreSearch: true, ignoreVary: true });
    if (held) return held;
  }
  return undefined;
}

// A step that cannot be sent waits, and the walk goes on. Sending it twice does no harm: the
// server lays it over what is stored, field by field.
async function save(request) {
  const copy = request.clone();
  try {
    const answer = await inTime(fetch(request), PATIENCE.save);
    if (!DOWN.includes(answer.status)) return answer;
  } catch {
    // no network, no server, or it died while it was writing
  }
  const form = await copy.formData();
  const onward = form.get("onward");
  if (!onward?.startsWith(reach) || !form.get("typed_by")) return away("What you just sent did not arrive: go back and send it again when the server answers.");
  const stays = form.has("stay") && !(await othersWait(request.url));
  const typed = [...form].filter(([, value]) => typeof value === "string");
  const waiting = { url: request.url, user: Number(form.get("typed_by")), typed };
  const saves = await caches.open(SAVES);
  await saves.put(`${request.url}?by=${waiting.user}`, new Response(JSON.stringify(waiting)));
  if (form.has("leave")) return Response.redirect(reach, 303);
  return Response.redirect(stays ? request.url : onward, 303);
}

async function othersWait(address) {
  const job = address.replace(/[^/]+\/$/, "");
  const waiting = await (await caches.open(SAVES)).keys();
  return waiting.some((one) => one.url.startsWith(job) && !one.url.startsWith(address));
}

async function asset(request) {
  const assets = await caches.open(ASSETS);
  const held = await assets.match(request.url, { ignoreVary: true });
  if (held && HASHED.test(new URL(request.url).pathname)) return held;
  try {
    const answer = await fetch(request);
    if (answer.ok) await assets.put(request.url, answer.clone());
    return answer;
  } catch (error) {
    if (held) return held;
    throw error;
  }
}

async function away(words = "Signing, and opening a job, need the server.") {
  const sheets = (await (await caches.open(ASSETS)).keys()).filter((one) => one.url.includes("style"));
  const link = sheets.map((one) => `<link rel="stylesheet" href="${new URL(one.url).pathname}">`).join("");
  return new Response(
    `<!doctype html><html lang="en"><head><meta charset="utf-8">
    <meta name="viewport" content="width=device-width, initial-scale=1"><title>No network</title>${link}</head>
    <body><main class="bench"><h1>No network, and this page is not on this tablet</h1>
    <p class="lede">Nothing typed on a step is lost: it is kept here, and sent when the server answers.
    ${words}</p>
    <p><a class="btn" href="${reach}">To the bench</a></p></main></body></html>`,
    {
      status: 503,
      headers: {
        "Content-Type": "text/html; charset=utf-8",
        "Content-Security-Policy": "default-src 'self'; base-uri 'self'; frame-ancestors 'none'",
      },
    },
  );
}
