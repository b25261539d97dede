// The fields of a step: what stands in them, what is stored, and setting them.

const OWN = ["csrfmiddlewaretoken", "version", "typed_by", "onward", "edits"];

export function fieldsOf(form) {
  const names = new Set();
  for (const box of form.elements) {
    const isTyped = box.name && !["hidden", "submit", "button", "file"].includes(box.type);
    if (isTyped && !OWN.includes(box.name)) names.add(box.name);
  }
  return [...names];
}

function boxes(form, name) {
  return [...form.elements].filter((box) => box.name === name && box.type !== "hidden");
}

export function boxOf(form, name) {
  return boxes(form, name)[0];
}

export function valueOf(form, name) {
  const [first, ...rest] = boxes(form, name);
  if (!first) return undefined;
  if (first.type === "radio") return [first, ...rest].find((box) => box.checked)?.value ?? "";
  if (first.type === "checkbox") return first.checked ? first.value : "";
  return first.value;
}

// As the page came, before anybody typed.
export function defaultOf(form, name) {
  const all = boxes(form, name);
  const [first] = all;
  if (!first) return undefined;
  if (first.type === "radio") return all.find((box) => box.defaultChecked)?.value ?? "";
  if (first.type === "checkbox") return first.defaultChecked ? first.value : "";
  if (!first.options) return first.defaultValue;
  const options = [...first.options];
  return (options.find((option) => option.defaultSelected) ?? options[0])?.value ?? "";
}

export function setValue(form, name, value) {
  for (const box of boxes(form, name)) {
    if (box.type === "radio" || box.type === "checkbox") box.checked = box.value === value;
    else box.value = value;
  }
  const box = boxOf(form, name);
  box?.closest("details")?.setAttribute("open", "");
  box?.dispatchEvent(new CustomEvent("input", { bubbles: true, detail: "laid" })); // answers beside it follow
}

// What is stored, as the page showed it.
export function storedIn(form, name) {
  const hidden = form.elements.namedItem(`initial-${name}`);
  const value = hidden instanceof RadioNodeList ? hidden[0]?.value : hidden?.value;
  return value ?? "";
}

export function labelOf(form, name) {
  const words = boxOf(form, name)?.labels?.[0]?.textContent ?? name;
  return words.replace(/\s+/g, " ").replace(/ needed$/, "").trim();
}
