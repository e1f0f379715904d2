// Marking weak bars on the part: by a tap in the mode for it, or by key.

import { BarView, nearestBar } from "./bars.js";
import { byId, data, itemAt } from "./data.js";
import { button, make } from "./elements.js";
import { partView, player } from "./main.js";
import { TOLERANCE, turnAt } from "./turns.js";

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
 * The turn of the bar at a point of the page, as it is played nearest to what is heard now.
 * @param {BarView} barView
 * @param {number} x
 * @param {number} y
 * @returns {number | null}
 */
function turnUnder(barView, x, y) {
  if (!partView.measures.length) return null;
  const id = barView.idAt(x, y);
  const bar = id === null ? null : nearestBar(barView.bars, id, player.now().position);
  return bar && turnAt(data, bar.start + TOLERANCE);
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
    this.barView = new BarView(partView);
    // Before what a tap does otherwise: it neither leads to the bar nor begins a loop.
    byId("score").addEventListener("click", (event) => this.take(event, mark), true);
    byId("score").addEventListener("pointerdown", (event) => this.isOn && event.stopImmediatePropagation(), true);
  }

  /**
   * @param {MouseEvent} event
   * @param {(turn: number) => void} mark
   */
  take(event, mark) {
    if (!this.isOn) return;
    event.stopImmediatePropagation();
    event.preventDefault();
    const turn = turnUnder(this.barView, event.clientX, event.clientY);
    if (turn !== null) mark(turn);
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
