// On a narrow page one part is open at a time, else the page is endless; on paper all of them are.
// Without this script every part is open.
const parts = [...document.querySelectorAll("details.part")];
const narrow = matchMedia("(max-width: 760px)");

const asked = () => document.getElementById(location.hash.slice(1))?.querySelector("details.part");
const flagged = () => parts.find((part) => part.querySelector(".note.warn")) ?? parts[0];

function openOnly(one) {
  for (const part of parts) part.open = part === one;
}

function fold() {
  if (narrow.matches) openOnly(asked() ?? flagged());
  else for (const part of parts) part.open = true;
}

function show(part) {
  if (narrow.matches) openOnly(part);
  else part.open = true;
  part.scrollIntoView();
}

for (const part of parts) {
  part.querySelector("summary").addEventListener("click", (event) => {
    if (!narrow.matches || part.open) return;
    event.preventDefault();
    show(part);
  });
}

for (const link of document.querySelectorAll(".jump a")) {
  // Also where the address says this part already and no hashchange comes.
  link.addEventListener("click", () => {
    const part = document.getElementById(link.hash.slice(1))?.querySelector("details.part");
    if (part) requestAnimationFrame(() => show(part));
  });
}

addEventListener("hashchange", () => {
  const part = asked();
  if (part) show(part);
});
narrow.addEventListener("change", fold);

let before = [];
addEventListener("beforeprint", () => {
  before = parts.filter((part) => !part.open);
  for (const part of parts) part.open = true;
});
addEventListener("afterprint", () => {
  for (const part of before) part.open = false;
});

fold();
if (asked()) asked().scrollIntoView();
