// Small helpers to make elements. Text is always set as text.

function make(name, attributes = {}, ...inside) {
  const made = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) {
    if (key === "on") for (const [event, does] of Object.entries(value)) made.addEventListener(event, does);
    else if (value === true) made.setAttribute(key, "");
    else if (value !== false && value !== null) made.setAttribute(key, value);
  }
  made.append(...inside.filter((one) => one !== null));
  return made;
}

function byId(id) {
  return document.getElementById(id);
}

/** Set a text only where it differs, so that nothing is laid out in vain. */
function say(element, text) {
  if (element.textContent !== text) element.textContent = text;
}

function panel(title, ...inside) {
  return make("fieldset", { class: "panel" }, make("legend", {}, title), ...inside);
}

function ticked(text, on, changed) {
  const box = make("input", { type: "checkbox", on: { change: () => changed(box.checked) } });
  box.checked = on;
  return { box, label: make("label", { class: "tick" }, box, text) };
}

function ranged(name, from, to, step, value, changed) {
  const input = () => changed(Number(slider.value));
  const given = { type: "range", min: from, max: to, step, "aria-label": name, on: { input } };
  const slider = make("input", given);
  slider.value = value;
  return slider;
}

function button(text, does, more = {}) {
  return make("button", { type: "button", ...more, on: { click: does } }, text);
}

function chooser(name, choices, changed) {
  const list = make("select", { "aria-label": name, on: { change: () => changed(list.value) } });
  for (const [value, text] of choices) list.append(make("option", { value }, text));
  return list;
}

/** A whole number with its sign: a true minus. */
function signed(value) {
  if (value === 0) return "0";
  return value > 0 ? `+${value}` : `−${-value}`;
}
