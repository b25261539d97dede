// One step of a job: each field is kept as it is typed, and what was not saved is laid over it.
import { Desk } from "./desk.js";
import { defaultOf, fieldsOf, labelOf, setValue, storedIn, valueOf } from "./fields.js";
import { markMoved, markOthers, markUnsaved, unmark } from "./marks.js";
import { canKeepPages } from "./pages.js";
import { plain, tried } from "./server.js";
import { editsOf, keep, newNumber } from "./store.js";

const form = document.querySelector("form.walk");
const desk = new Desk(document.getElementById("kept"), heard);
const touched = new Set(); // typed in since this page was opened
const laid = new Map(); // field: the edit that was laid over what is stored
let own = new Map(); // field: this tablet's last edit
let mine = new Map(); // field: this person's last open edit, as the server has it
let order = 0;

// What a field goes back to: on a page that came back with faults, what is stored.
const base = (name) => ("bound" in form.dataset ? storedIn(form, name) : defaultOf(form, name));

function record(name, typed) {
  const before = own.get(name);
  const isNew = !before || before.state !== "typing" || tried.has(before.uuid);
  const edit = isNew ? fresh(name, before) : before;
  edit.typed = typed;
  edit.typed_at = new Date().toISOString();
  own.set(name, edit);
  desk.touched = true;
  keep({ ...edit, state: "unsent" }).catch(() => (desk.broken = true));
  desk.soon();
}

// over: what stood stored when it was first typed over, so that a change of that is seen later
function fresh(name, before) {
  return {
    uuid: newNumber(),
    user: desk.user,
    job: desk.job,
    step: desk.step,
    field: name,
    label: labelOf(form, name),
    about: desk.ref,
    over: before && before.typed !== null ? before.over : storedIn(form, name),
    base_version: desk.version,
    order: (order += 1),
    state: "typing", // in memory alone: never sent, may still grow
  };
}

function onTyping(event) {
  const { name } = event.target;
  if (event.detail === "laid" || !fieldsOf(form).includes(name)) return;
  if (valueOf(form, name) === own.get(name)?.typed) return;
  touched.add(name);
  laid.delete(name);
  unmark(name);
  record(name, valueOf(form, name));
}

function drop(name) {
  const edit = laid.get(name);
  if (edit && valueOf(form, name) === edit.typed) setValue(form, name, base(name));
  record(name, null);
  laid.delete(name);
  unmark(name);
}

function use(name, edit) {
  setValue(form, name, edit.typed);
  touched.add(name);
  unmark(name);
  record(name, edit.typed);
}

function openEdits() {
  const edits = new Map(mine);
  for (const [name, edit] of own) edits.set(name, edit);
  return edits;
}

// The fields of one line of a list belong together: all of them are laid, or none.
const group = (name) => name.match(/^\d+-/)?.[0] ?? name;

function hasMoved(edit, stored) {
  if (edit.base_version >= desk.version || edit.typed === stored) return false;
  return edit.over === undefined ? stored !== "" : edit.over !== stored;
}

function lay() {
  const edits = openEdits();
  const moved = new Set();
  for (const [name, edit] of edits) {
    if (edit.typed !== null && hasMoved(edit, storedIn(form, name))) moved.add(group(name));
  }
  for (const name of fieldsOf(form)) {
    const edit = edits.get(name);
    if (!touched.has(name)) layOne(name, edit, moved.has(group(name)));
  }
}

function layOne(name, edit, isMoved) {
  const [value, stored] = [valueOf(form, name), storedIn(form, name)];
  if (!edit || edit.typed === null || edit.typed === stored) {
    const before = laid.get(name);
    if (before && value === before.typed) setValue(form, name, base(name)); // saved or dropped elsewhere
    laid.delete(name);
    unmark(name);
  } else if (isMoved && value !== edit.typed) {
    markMoved(form, name, edit.typed, stored, () => use(name, edit), () => drop(name));
  } else if (value === base(name) || value === edit.typed || value === laid.get(name)?.typed) {
    if (value !== edit.typed) setValue(form, name, edit.typed);
    laid.set(name, edit);
    markUnsaved(form, name, edit.state === "turned" ? edit.why : "", () => drop(name));
  }
}

async function readOwn() {
  const edits = (await editsOf(desk.user)).filter((edit) => edit.job === desk.job && edit.step === desk.step);
  const read = new Map(edits.map((edit) => [edit.field, edit]));
  for (const [name, edit] of own) if (edit.state === "typing" && touched.has(name)) read.set(name, edit);
  for (const edit of edits) order = Math.max(order, edit.order);
  own = read;
}

async function heard(said) {
  mine = new Map(said.mine.filter((edit) => edit.step === desk.step).map((edit) => [edit.field, edit]));
  await readOwn();
  lay();
  markOthers(form, said.others.filter((edit) => edit.step === desk.step));
  for (const box of document.getElementsByName("csrfmiddlewaretoken")) box.value = said.token;
}

// What is saved tells the server which edits it holds, sent or not.
function onSubmit(event) {
  const held = [...openEdits().values()].filter((edit) => edit.user === desk.user && edit.state !== "turned");
  form.elements.namedItem("edits").value = JSON.stringify(held.map(plain));
  const isStuck = !canKeepPages && (!navigator.onLine || desk.state === "away");
  if (!isStuck || desk.sure) return;
  event.preventDefault();
  desk.round().then((state) => {
    desk.sure = state === "kept";
    if (desk.sure) form.requestSubmit(event.submitter);
  });
}

// What somebody typed before this script ran, or a browser put back, is typed too.
async function begin() {
  form.addEventListener("input", onTyping);
  form.addEventListener("change", onTyping);
  form.addEventListener("submit", onSubmit);
  addEventListener("pageshow", (event) => event.persisted && location.reload());
  try {
    await readOwn();
  } catch {
    desk.broken = true;
  }
  for (const name of fieldsOf(form)) {
    const isTyped = valueOf(form, name) !== defaultOf(form, name) && !touched.has(name);
    if (isTyped && own.get(name)?.typed !== valueOf(form, name)) record(name, valueOf(form, name));
  }
  lay();
  await desk.show();
  await desk.round();
  const others = [...document.querySelectorAll(".steps a")].map((link) => link.href);
  await desk.keepPages([location.href.split(/[?#]/)[0], ...others, desk.steps]);
}

begin();
