// The outbox: what was typed on this tablet, kept until the server says it is saved or dropped.
// An edit: {uuid, user, job, step, field, label, typed, over, base_version, typed_at, state, why}.
//   typed: null says that what was typed there is dropped; over: what the page held before it
//   state: "unsent", "kept" (the server has it, the step is not saved), "turned" (and why)

const NAME = "bench";
const EDITS = "edits";
let opened;

function database() {
  opened ??= new Promise((resolve, reject) => {
    const asked = indexedDB.open(NAME, 1);
    asked.onupgradeneeded = () => asked.result.createObjectStore(EDITS, { keyPath: "uuid" });
    asked.onsuccess = () => resolve(asked.result);
    asked.onerror = () => reject(asked.error);
  });
  return opened;
}

async function within(mode, act) {
  const base = await database();
  return new Promise((resolve, reject) => {
    const work = base.transaction(EDITS, mode, { durability: "strict" });
    const asked = act(work.objectStore(EDITS), work);
    work.oncomplete = () => resolve(asked?.result);
    work.onerror = work.onabort = () => reject(work.error);
  });
}

// Oldest first: as they were typed on this tablet.
export async function editsOf(user) {
  const all = await within("readonly", (edits) => edits.getAll());
  return all.filter((edit) => edit.user === user).sort((a, b) => a.order - b.order);
}

// Handed over whole within the key's own event, and written through to the disk: a page that is
// killed right after a key has lost nothing. The writes come one after another by themselves.
export function keep(edit) {
  return within("readwrite", (edits, work) => {
    edits.put(edit);
    work.commit?.(); // without waiting for the answer to the put
  });
}

export async function forget(uuids) {
  await within("readwrite", (edits) => {
    for (const uuid of uuids) edits.delete(uuid);
  });
}

// What the server answered for edits that were sent. One that was typed on while it was under way,
// or whose number the server knows with other words, gets a new number and is sent again.
export async function answered(sent, { kept, turned, taken }) {
  await within("readwrite", (edits) => {
    for (const edit of sent) {
      const asked = edits.get(edit.uuid);
      asked.onsuccess = () => {
        const now = asked.result;
        if (!now) return;
        if (now.typed !== edit.typed || taken.has(edit.uuid)) {
          edits.delete(edit.uuid);
          edits.put({ ...now, uuid: newNumber(), state: "unsent" });
        } else if (kept.has(edit.uuid)) edits.put({ ...now, state: "kept" });
        else if (turned.has(edit.uuid)) edits.put({ ...now, state: "turned", why: turned.get(edit.uuid) });
      };
    }
  });
}

// A number of its own, also where the address is not secure.
export function newNumber() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = (bytes[6] & 0x0f) | 0x40;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return hex.replace(/(.{8})(.{4})(.{4})(.{4})(.{12})/, "$1-$2-$3-$4-$5");
}
