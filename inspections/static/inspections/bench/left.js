// What is typed and not saved, elsewhere than on the step that is open: where it is, or its words.
import { forget } from "./store.js";

export function list(desk, edits, waiting) {
  const left = desk.element.querySelector(".left");
  const lines = [...steps(desk, edits, waiting), ...edits.filter((e) => e.state === "turned").map((e) => turned(desk, e))];
  const words = lines.map((line) => line.textContent).join("\n");
  if (left.dataset.words === words) return;
  left.dataset.words = words;
  left.replaceChildren(...lines);
}

// One line a step, with the way there.
function steps(desk, edits, waiting) {
  const counts = new Map();
  const last = new Map(edits.map((edit) => [`${edit.job}/${edit.step}/${edit.field}`, edit]));
  for (const said of desk.said.values()) for (const one of said.mine) note(counts, desk, said.job, one.step, one.field);
  for (const edit of last.values()) {
    const isOpen = edit.state !== "turned" && edit.typed !== null && edit.typed !== edit.over;
    if (isOpen) note(counts, desk, edit.job, edit.step, edit.field, edit.about);
  }
  return [...counts.values()].map(({ job, step, fields, about }) => {
    const path = desk.server.address.replace("/0/edits/", `/${job}/${step}/`);
    const waits = waiting.some((one) => new URL(one.url).pathname === path);
    const line = document.createElement("p");
    const link = document.createElement("a");
    const title = document.querySelector(`.steps a[href="${path}"]`)?.textContent ?? step.replaceAll("_", " ");
    Object.assign(link, { href: path, textContent: about ? `${title} of ${about}` : title });
    const count = `${fields.size} field${fields.size === 1 ? "" : "s"}`;
    line.append(waits ? "Waits to be saved: " : "Typed and not saved: ", link, `, ${count}.`);
    return line;
  });
}

function note(counts, desk, job, step, field, about = "") {
  if (job === desk.job && step === desk.step) return;
  const key = `${job}/${step}`;
  const held = counts.get(key) ?? { job, step, fields: new Set(), about: "" };
  held.fields.add(field);
  held.about = job === desk.job ? "" : about || held.about;
  counts.set(key, held);
}

// The server would not keep it: here are the words, until whoever typed them lets them go.
function turned(desk, edit) {
  const line = document.createElement("p");
  const typed = document.createElement("q");
  Object.assign(typed, { className: "typed", textContent: edit.typed ?? "" });
  const gone = document.createElement("button");
  Object.assign(gone, { type: "button", className: "btn quiet small", textContent: "I have it, take it away" });
  gone.addEventListener("click", async () => {
    await forget([edit.uuid]);
    desk.soon(0);
  });
  line.append(`Not in the record, ${edit.about}, ${edit.label}: `, typed, ` (${edit.why}). `, gone);
  return line;
}
