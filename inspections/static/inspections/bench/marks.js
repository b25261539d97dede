// What is said beside a field: typed and not saved yet, saved otherwise meanwhile, typed by another.
import { boxOf } from "./fields.js";
import { span } from "./line.js";

const NOW = 120; // seconds; longer ago nobody is typing any more

function beside(form, name) {
  const box = boxOf(form, name);
  return box?.closest(".field, .entry, fieldset, td") ?? box?.parentElement;
}

function put(form, name, kind, words, buttons = []) {
  const place = beside(form, name);
  const id = `${kind}-${name}`;
  let line = document.getElementById(id);
  if (!place || line?.dataset.words === words) return;
  line?.remove();
  line = document.createElement("div");
  Object.assign(line, { id, className: `beside ${kind}` });
  line.dataset.words = words;
  const text = document.createElement("span");
  text.textContent = words;
  line.append(text, ...buttons.map(([label, act]) => button(label, act)));
  place.append(line);
}

function button(label, act) {
  const made = document.createElement("button");
  Object.assign(made, { type: "button", className: "btn quiet small", textContent: label });
  made.addEventListener("click", act);
  return made;
}

function shown(typed) {
  return typed === "" ? "nothing" : `“${typed}”`;
}

export function markUnsaved(form, name, why, drop) {
  put(form, name, "unsaved", why ? `Typed, not saved yet: ${why}.` : "Typed, not saved yet.", [["Drop it", drop]]);
}

export function markMoved(form, name, typed, stored, use, drop) {
  const words = `You typed ${shown(typed)} and did not save it; what is saved is ${shown(stored)}.`;
  put(form, name, "unsaved", words, [["Use mine", use], ["Drop mine", drop]]);
}

export function unmark(name, kind = "unsaved") {
  document.getElementById(`${kind}-${name}`)?.remove();
}

export function markOthers(form, others) {
  const said = new Set();
  for (const { field, typed, name, ago } of others) {
    const words = ago < NOW
      ? `${name} is typing ${shown(typed)}`
      : `${name} typed ${shown(typed)} ${span(ago * 1000)} ago and has not saved it`;
    put(form, field, "typing", words);
    said.add(`typing-${field}`);
  }
  for (const line of document.querySelectorAll(".beside.typing")) if (!said.has(line.id)) line.remove();
}
