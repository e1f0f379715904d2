// The bars of the part that is shown: which one is tapped, and which are looped.

import { byId, data, itemAt, lastAtMost } from "./data.js";
import { TOLERANCE } from "./turns.js";

/** @typedef {import("./part_view.js").PartView} PartView */
/** @typedef {import("./stretches.js").TimeRange} TimeRange */

/**
 * A bar as it is played: one that is written once and played twice is two of them. `pass` counts the
 * times that the part goes on reading backwards.
 * @typedef {{start: number, end: number, id: string, pass: number}} PlayedBar
 */


/**
 * The bars of a part in order of time; where it has none its notes stand for them.
 * @param {PartView} part
 * @returns {PlayedBar[]}
 */
function playedBars({ measures, notes, places }) {
  const order = new Map([...places.keys()].map((id, at) => [id, at]));
  let pass = 0;
  let last = -1;
  return (measures.length ? measures : notes)
    .filter(([, , id]) => order.has(id))
    .map(([start, end, id]) => {
      const at = order.get(id) ?? 0;
      if (at < last) pass += 1;
      last = at;
      return { start, end, id, pass };
    });
}

/**
 * The bar as it is played nearest to a time: in the same pass, where it is played there.
 * @param {PlayedBar[]} bars
 * @param {string} id
 * @param {number} time
 */
export function nearestBar(bars, id, time) {
  const present = itemAt(bars, Math.max(0, lastAtMost(bars, time + TOLERANCE, ({ start }) => start)));
  /** @type {PlayedBar | null} */
  let best = null;
  let least = Infinity;
  for (const bar of bars) {
    if (bar.id !== id) continue;
    const away = Math.max(0, bar.start - time, time - bar.end);
    const distance = away + (bar.pass === present?.pass ? 0 : data.length);
    if (distance < least) {
      least = distance;
      best = bar;
    }
  }
  return best;
}

export class BarView {
  /** @param {PartView} part */
  constructor(part) {
    this.part = part;
    /** @type {PlayedBar[]} */
    this.bars = [];
    /** The drawing that `bars` were read from. */
    this.drawn = 0;
    this.key = "";
  }

  /** Read the bars anew where another part is shown. */
  read() {
    if (this.drawn === this.part.drawn) return;
    this.drawn = this.part.drawn;
    this.bars = playedBars(this.part);
    this.key = "";
  }

  /**
   * The id of the bar at a point of the screen, or the nearest in its system; null outside of all.
   * @param {number} x
   * @param {number} y
   */
  idAt(x, y) {
    this.read();
    const system = this.part.systems.findIndex(({ box }) => {
      const { left, right, top, bottom } = box.getBoundingClientRect();
      return x >= left && x <= right && y >= top && y <= bottom;
    });
    let best = null;
    let least = Infinity;
    for (const id of new Set(this.bars.map((bar) => bar.id))) {
      const place = this.part.places.get(id);
      if (!place || place.system !== system) continue;
      const { left, right } = place.element.getBoundingClientRect();
      const away = Math.max(0, left - x, x - right);
      if (away < least) {
        least = away;
        best = id;
      }
    }
    return best;
  }

  /**
   * Mark the bars from one piece time to another; none for null.
   * @param {TimeRange | null} range
   */
  mark(range) {
    this.read();
    const key = range ? range.join(" ") : "none";
    if (key === this.key) return;
    this.key = key;
    for (const old of byId("score").querySelectorAll(".looped")) old.remove();
    if (!range) return;
    const isIn = (/** @type {PlayedBar} */ { start, end }) =>
      start >= range[0] - TOLERANCE && end <= range[1] + TOLERANCE;
    const ids = this.bars.filter(isIn).map(({ id }) => id);
    for (const id of new Set(ids)) this.shade(id);
  }

  /** @param {string} id */
  shade(id) {
    const place = this.part.places.get(id);
    const system = place && itemAt(this.part.systems, place.system);
    if (!system || !(system.picture instanceof SVGSVGElement)) return;
    const bar = place.element.getBoundingClientRect();
    const all = system.picture.getBoundingClientRect();
    const { width, height } = system.picture.viewBox.baseVal;
    const scale = all.width ? width / all.width : 0;
    const rectangle = document.createElementNS("http://www.w3.org/2000/svg", "rect");
    const box = { x: (bar.left - all.left) * scale, y: 0, width: bar.width * scale, height };
    rectangle.setAttribute("class", "looped");
    for (const [name, value] of Object.entries(box)) rectangle.setAttribute(name, value.toFixed(0));
    system.picture.prepend(rectangle);
  }
}
