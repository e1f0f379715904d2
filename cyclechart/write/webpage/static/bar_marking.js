// Marking weak bars on the part: by a tap in the mode for it, or by key.

import { byId, data, itemAt } from "./data.js";
import { button, make } from "./elements.js";
import { partView, player } from "./main.js";
import { TOLERANCE, turnAt, turnEnd } from "./turns.js";

/** @typedef {import("./weak_bars.js").WeakBars} WeakBars */

/** @type {Set<Element>} */
const framed = new Set();

/**
 * Frame the marked bars on the part.
 * @param {WeakBars} weak
 */
export function frameWeakBars(weak) {
  for (const element of framed) element.classList.remove("weak");
  framed.clear();
  const { turns } = weak;
  if (!turns.length) return;
  const isWeak = new Set(turns);
  for (const [start, , id] of partView.measures) {
    if (!isWeak.has(turnAt(data, start))) continue;
    const element = partView.frame(id);
    if (!element) continue;
    element.classList.add("weak");
    framed.add(element);
  }
}

/**
 * The turn of the measure at a point of the page; of one that is played more than once, the next time.
 * @param {number} x
 * @param {number} y
 * @returns {number | null}
 */
function turnUnder(x, y) {
  const isUnder = (/** @type {string} */ id) => {
    const box = partView.places.get(id)?.element.getBoundingClientRect();
    return box && x >= box.left && x <= box.right && y >= box.top - 12 && y <= box.bottom + 12;
  };
  const found = partView.measures.filter(([, , id]) => isUnder(id));
  if (!found.length) return null;
  const { position } = player.now();
  const next = found.find(([start]) => start >= position - TOLERANCE);
  const [start] = next ?? found[0];
  const here = turnAt(data, position);
  const turn = turnAt(data, start);
  // The bar that is being played is meant, not its next time.
  const isHere = found.some(([at]) => turnAt(data, at) === here) && position < turnEnd(data.turns[here]);
  return isHere ? here : turn;
}

/** The mode in which a tap on a bar marks it. */
export class MarkingMode {
  /** @param {(turn: number) => void} mark */
  constructor(mark) {
    this.isOn = false;
    this.changed = () => {};
    this.words = make("span", {}, "Tap a bar to mark it as weak.");
    this.strip = make(
      "div",
      { id: "marking", role: "status", hidden: true },
      this.words,
      button("Done", () => this.set(false)),
    );
    byId("cycle").after(this.strip);
    // Before what a tap does otherwise.
    byId("score").addEventListener(
      "click",
      (event) => {
        if (!this.isOn) return;
        event.stopPropagation();
        event.preventDefault();
        const turn = turnUnder(event.clientX, event.clientY);
        if (turn !== null) mark(turn);
      },
      true,
    );
  }

  /** @param {boolean} isOn */
  set(isOn) {
    const canMark = itemAt(partView.measures, 0) !== undefined;
    this.isOn = isOn;
    this.words.textContent = canMark
      ? "Tap a bar to mark it as weak, or once more to take the mark away."
      : "This part has no bars to tap: M marks the bar that is played.";
    this.strip.hidden = !isOn;
    document.body.classList.toggle("marking", isOn);
    this.changed();
  }
}
