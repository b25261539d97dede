// The photos that wait on this tablet, as they are seen: a small picture, and how each stands.
import { forgetPhoto } from "./pictures.js";

const SMALL = 160; // px
const drawn = new Map(); // order: its small picture

export function showPhotos(desk, photos) {
  const section = document.querySelector("#photos .queue");
  const here = section ? photos.filter((photo) => photo.job === desk.job) : [];
  const elsewhere = photos.filter((photo) => !here.includes(photo));
  if (section) fill(desk, section, here);
  fill(desk, desk.element.querySelector(".left-photos"), elsewhere);
}

function fill(desk, place, photos) {
  const words = JSON.stringify(photos.map(({ order, state, why }) => [order, state, why]));
  if (place.dataset.words === words) return;
  place.dataset.words = words;
  place.replaceChildren(...photos.map((photo) => line(desk, photo)));
}

function line(desk, photo) {
  const item = document.createElement("li");
  const said = document.createElement("span");
  const isRefused = photo.state === "refused";
  item.className = isRefused ? "refused" : "waits";
  const time = new Date(photo.taken_at).toLocaleTimeString("en-GB", { hour: "2-digit", minute: "2-digit" });
  const what = photo.job === desk.job ? photo.name : `${photo.name}, ${photo.about}`;
  said.textContent = isRefused
    ? `Not kept: ${what} of ${time}: ${photo.why}.`
    : `${what} of ${time}: on this tablet, waits for the network.`;
  item.append(small(photo), said);
  if (isRefused) item.append(copy(photo), letGo(desk, photo));
  return item;
}

// Drawn, not linked: nothing but what comes from the site is shown as a picture.
function small(photo) {
  if (drawn.has(photo.order)) return drawn.get(photo.order);
  const canvas = document.createElement("canvas");
  canvas.setAttribute("role", "img");
  canvas.setAttribute("aria-label", photo.name);
  drawn.set(photo.order, canvas);
  createImageBitmap(photo.file, { resizeWidth: SMALL })
    .then((bitmap) => {
      Object.assign(canvas, { width: bitmap.width, height: bitmap.height });
      canvas.getContext("2d").drawImage(bitmap, 0, 0);
      bitmap.close();
    })
    .catch(() => (canvas.hidden = true)); // no picture, and the server says so
  return canvas;
}

function copy(photo) {
  const link = document.createElement("a");
  Object.assign(link, { className: "btn quiet small", textContent: "Save a copy", download: photo.name });
  link.href = URL.createObjectURL(photo.file);
  return link;
}

function letGo(desk, photo) {
  const button = document.createElement("button");
  Object.assign(button, { type: "button", className: "btn quiet small stop", textContent: "Take it off this tablet" });
  button.addEventListener("click", async () => {
    await forgetPhoto(photo);
    drawn.delete(photo.order);
    await desk.show();
  });
  return button;
}
