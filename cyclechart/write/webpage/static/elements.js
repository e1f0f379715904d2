// Helpers that make elements. Text is always set as text.

/**
 * Attributes of an element: true for one without a value, false or null for none; `on` holds its
 * listeners by event.
 * @typedef {{on?: Record<string, () => void>} & Record<string, any>} Attributes
 */

/**
 * @template {keyof HTMLElementTagNameMap} Name
 * @param {Name} name
 * @param {Attributes} [attributes]
 * @param {(Node | string)[]} children
 * @returns {HTMLElementTagNameMap[Name]}
 */
export function make(name, { on = {}, ...attributes } = {}, ...children) {
  const element = document.createElement(name);
  for (const [event, listener] of Object.entries(on)) element.addEventListener(event, () => listener());
  for (const [key, value] of Object.entries(attributes)) {
    if (value === true) element.setAttribute(key, "");
    else if (value !== false && value !== null) element.setAttribute(key, String(value));
  }
  element.append(...children);
  return element;
}

/**
 * Set a text only where it differs, so that nothing is laid out in vain.
 * @param {Element} element
 * @param {string} text
 */
export function setText(element, text) {
  if (element.textContent !== text) element.textContent = text;
}

/**
 * @param {string} title
 * @param {(Node | string)[]} children
 */
export function panel(title, ...children) {
  return make("fieldset", { class: "panel" }, make("legend", {}, title), ...children);
}

/** @param {(Node | string)[]} children */
export function row(...children) {
  return make("div", { class: "row" }, ...children);
}

/**
 * @param {string} text
 * @param {boolean} isOn
 * @param {(isOn: boolean) => void} changed
 */
export function checkbox(text, isOn, changed) {
  const box = make("input", { type: "checkbox", on: { change: () => changed(box.checked) } });
  box.checked = isOn;
  return { box, label: make("label", { class: "tick" }, box, text) };
}

/**
 * @param {string} name
 * @param {{min: number, max: number, step: number, value: number}} range
 * @param {(value: number) => void} changed
 */
export function slider(name, { min, max, step, value }, changed) {
  const input = () => changed(Number(element.value));
  const element = make("input", { type: "range", min, max, step, "aria-label": name, on: { input } });
  element.value = String(value);
  return element;
}

/**
 * @param {string} text
 * @param {() => void} clicked
 * @param {Attributes} [attributes]
 */
export function button(text, clicked, attributes = {}) {
  return make("button", { type: "button", ...attributes, on: { click: clicked } }, text);
}

/**
 * A button that asks once more before it does what cannot be taken back.
 * @param {string} text
 * @param {string} question the text of the second time
 * @param {() => void} confirmed
 */
export function confirmedButton(text, question, confirmed) {
  const reset = () => {
    element.classList.remove("asks");
    setText(element, text);
  };
  const element = button(text, () => {
    if (!element.classList.contains("asks")) {
      element.classList.add("asks");
      setText(element, question);
      return;
    }
    reset();
    confirmed();
  });
  element.addEventListener("blur", reset);
  return element;
}

/**
 * @param {string} name
 * @param {[value: string | number, text: string][]} choices
 * @param {(value: string) => void} changed
 */
export function dropdown(name, choices, changed) {
  const list = make("select", { "aria-label": name, on: { change: () => changed(list.value) } });
  for (const [value, text] of choices) list.append(make("option", { value }, text));
  return list;
}

/**
 * A whole number with its sign: a true minus.
 * @param {number} value
 */
export function signed(value) {
  if (value === 0) return "0";
  return value > 0 ? `+${value}` : `−${-value}`;
}
