// A photo chosen on a step goes into the tablet's outbox first, and from there to the server. Where
// the tablet cannot keep it, it is sent straight away, and the box holds it until it is there.
import { Desk } from "./desk.js";
import { keepPhoto } from "./pictures.js";

const desk = Desk.here; // step.js came before
const SIGNED_OUT = 401;
const FULL = "QuotaExceededError";

function section() {
  return document.getElementById("photos");
}

function say(words) {
  const said = document.createElement("p");
  Object.assign(said, { className: "note late", textContent: words });
  section().querySelector("[role=status]").replaceChildren(said);
}

// Before htmx hears of it.
document.addEventListener("change", (event) => {
  const box = event.target;
  if (box.type !== "file" || !section()?.contains(box) || !box.files.length) return;
  event.stopPropagation();
  take(box);
}, true);

async function take(box) {
  section().querySelector("[role=status]").replaceChildren();
  try {
    for (const file of [...box.files]) await keepPhoto(photoOf(box.form, file));
    box.value = "";
    navigator.storage?.persist?.().catch(() => {});
    await desk.show();
    desk.soon(0);
  } catch (error) {
    const why = error?.name === FULL ? "This tablet’s storage is full" : "This browser keeps no photos by itself";
    say(`${why}: what is not kept below is being sent now. Stay on this page until it is among the photos.`);
    box.form.requestSubmit();
  }
}

function photoOf(form, file) {
  const isLarge = file.size > Number(form.dataset.largest);
  const { user, job, ref: about } = desk;
  return {
    user, job, about, file,
    step: form.dataset.step,
    name: file.name || "photo",
    state: isLarge ? "refused" : "waits",
    why: isLarge ? "expected a photo of at most 20 MB" : "",
  };
}

// Without the outbox: a photo that did not get through is said so, beside the box that still holds it.
function unsent(event) {
  if (!event.target.closest?.("#photos")) return;
  say(event.detail.xhr?.status === SIGNED_OUT
    ? "Not sent: you were signed out. Save what you typed, sign in, and send the photo again."
    : "Not sent: no answer from the site. Send it again once there is a connection.");
}
document.addEventListener("htmx:responseError", unsent);
document.addEventListener("htmx:sendError", unsent);
document.addEventListener("htmx:afterSwap", () => desk.show());

// What the server has now stands among the photos.
desk.photoCame = (photo, said) => {
  if (!section() || photo.job !== desk.job || !said.part) return;
  const fresh = new DOMParser().parseFromString(said.part, "text/html").querySelector(".shown");
  section().querySelector(".shown").replaceWith(fresh);
  window.htmx?.process(fresh);
  if (said.twice) say(`${photo.name} is here already, and kept once.`);
};
desk.show();

// What was chosen before this script ran is taken too; sent twice, it is kept once.
for (const box of section()?.querySelectorAll("input[type=file]") ?? []) if (box.files.length) take(box);
