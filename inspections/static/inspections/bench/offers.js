// One tap that writes what is known already: the target that a setting was put back to, the gauge
// of the job before. It types into the boxes, so all that follows typing follows.
document.addEventListener("click", (event) => {
  const button = event.target.closest("button[data-fills]");
  if (!button) return;
  for (const [id, typed] of Object.entries(JSON.parse(button.dataset.fills))) {
    const box = document.getElementById(id);
    if (!box) continue;
    box.value = typed;
    box.dispatchEvent(new Event("input", { bubbles: true }));
  }
});
