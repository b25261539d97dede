// Signing out: a person's pages and what the server has go from this tablet. What has not come to
// the server stays, and that is asked about first.
import { forgetOthers, forgetPages } from "./pages.js";
import { photosOf } from "./pictures.js";
import { editsOf, forget } from "./store.js";
import { waitingOf } from "./waiting.js";

const form = document.querySelector("form.sign-out");
const user = Number(form?.dataset.user);
let isSure = false;

async function leave() {
  const edits = await editsOf(user);
  await forget(edits.filter((edit) => edit.state === "kept").map((edit) => edit.uuid));
  await forgetPages(user);
  isSure = true;
  form.requestSubmit();
}

async function unsent() {
  const edits = (await editsOf(user)).filter((edit) => edit.state !== "kept" && edit.typed !== null);
  const fields = new Set(edits.map((edit) => `${edit.job}/${edit.step}/${edit.field}`));
  return fields.size + (await waitingOf(user)).length + (await photosOf(user)).length;
}

function ask(count) {
  const note = document.getElementById("leaving");
  const waits = count === 1 ? "one thing waits" : `${count} things wait`;
  note.querySelector("b").textContent = `Not all that you typed or photographed here has reached the server: ${waits}.`;
  note.hidden = false;
  note.querySelector("button").focus();
}

form?.addEventListener("submit", async (event) => {
  if (isSure) return;
  event.preventDefault();
  try {
    const count = await unsent();
    if (count) ask(count);
    else await leave();
  } catch {
    isSure = true; // a browser that keeps nothing has nothing to ask about
    form.requestSubmit();
  }
});
document.getElementById("leave-stay")?.addEventListener("click", () => (document.getElementById("leaving").hidden = true));
document.getElementById("leave-go")?.addEventListener("click", leave);
if (form) forgetOthers(user);
