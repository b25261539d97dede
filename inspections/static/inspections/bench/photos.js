// A photo that did not get through is said so, beside the box that still holds it.
const SIGNED_OUT = 401;

function unsent(event) {
  const photos = event.target.closest?.("#photos");
  if (!photos) return;
  const said = document.createElement("p");
  said.className = "note late";
  said.textContent = event.detail.xhr?.status === SIGNED_OUT
    ? "Not sent: you were signed out. Save what you typed, sign in, and send the photo again."
    : "Not sent: no answer from the site. Send it again once there is a connection.";
  photos.querySelector("[role=status]").replaceChildren(said);
}
document.addEventListener("htmx:responseError", unsent);
document.addEventListener("htmx:sendError", unsent);
