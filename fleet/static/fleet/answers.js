// An answer is about what stands in its box now. Once that changes the old answer goes, and where
// no new one comes that is said: an old "equal" beside a changed figure would be believed.
const SIGNED_OUT = 401;

document.addEventListener("input", (event) => {
  for (const answer of document.querySelectorAll("output.answer")) {
    if (!answer.getAttribute("hx-trigger").includes(`#${event.target.id} `)) continue;
    htmx.trigger(answer, "htmx:abort");
    answer.textContent = "";
  }
});

function unanswered(event) {
  if (!event.target.matches("output.answer")) return;
  event.target.textContent = event.detail.xhr?.status === SIGNED_OUT
    ? "Not compared: you were signed out. Save, sign in, and what you typed is kept."
    : "Not compared: no answer from the site. What you typed still stands here.";
}
document.addEventListener("htmx:responseError", unanswered);
document.addEventListener("htmx:sendError", unanswered);
