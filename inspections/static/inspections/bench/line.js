// The quiet line that says where what is typed is kept, and what still waits.

const MINUTE = 60_000;
const WRONG = 5 * MINUTE; // a tablet's clock that is off by more is said to be wrong

export function clockWords(moment) {
  return new Date(moment).toLocaleTimeString("en-GB", { hour: "2-digit", minute: "2-digit" });
}

function many(count, one, more = `${one}s`) {
  return `${count} ${count === 1 ? one : more}`;
}

export function span(milliseconds) {
  const minutes = Math.round(Math.abs(milliseconds) / MINUTE);
  if (minutes < 120) return many(minutes, "minute");
  return minutes < 48 * 60 ? many(Math.round(minutes / 60), "hour") : many(Math.round(minutes / 1440), "day");
}

// state: "start", "kept", "away" or "out"; at: when the server last answered, by its own clock
export function lineWords({ state, at, unsent, waiting, photos, typed, canKeep, broken, skew, isOlder }) {
  const words = [];
  const since = at ? ` since ${clockWords(at)}` : "";
  if (broken) words.push("This browser keeps nothing by itself: save each step before you leave it.");
  else if (state === "away") words.push(`Kept on this tablet; the server has not answered${since}.`);
  else if (state === "out") words.push("Kept on this tablet; you are signed out. Sign in again, and it is sent.");
  else if (unsent) words.push("Kept on this tablet, on its way to the server.");
  else if (typed) words.push(`All typed kept here and on the server ${clockWords(at)}.`);
  else words.push("Whatever you type is kept here and on the server.");
  if (waiting) words.push(`${many(waiting, "step")} ${waiting === 1 ? "waits" : "wait"} to be saved.`);
  if (photos) words.push(`${many(photos, "photo")} ${photos === 1 ? "waits" : "wait"} to be sent.`);
  if (isOlder) words.push("Somebody has saved this job since this page was opened; saving lays yours over it, field by field.");
  if (!canKeep) words.push("This address is not secure (HTTPS), so no page can be opened without the network: keep this one open.");
  if (Math.abs(skew) > WRONG) {
    words.push(`This tablet’s clock is ${span(skew)} ${skew > 0 ? "fast" : "slow"}; the server’s time is used.`);
  }
  return words.join(" ");
}

export function say(element, words) {
  if (element.textContent !== words) element.textContent = words;
}
