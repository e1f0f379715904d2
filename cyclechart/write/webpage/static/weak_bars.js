// The bars that were marked as weak, kept for each piece on the device.

import { data, itemAt } from "./data.js";
import { readStoredData, removeStored, writeStored } from "./device_storage.js";
import { turnAt } from "./turns.js";

const WEAK_NAME = `cyclechart weak bars ${JSON.stringify([data.title, data.composer])}`;

/**
 * A name for each turn that stays when others are added or taken out after it: the number of its cycle,
 * or its kind and how many of that kind were before.
 */
function turnIds() {
  /** @type {Map<string, number>} */
  const counts = new Map();
  return data.turns.map(({ kind, number }) => {
    if (number > 0) return `cycle ${number}`;
    const count = (counts.get(kind) ?? 0) + 1;
    counts.set(kind, count);
    return `${kind} no ${count}`;
  });
}

export class WeakBars {
  constructor() {
    this.ids = turnIds();
    const stored = readStoredData(WEAK_NAME);
    const names = Array.isArray(stored) ? /** @type {unknown[]} */ (stored) : [];
    /** @type {Set<string>} marks of bars that the piece has no longer stay for when it has them again */
    this.marked = new Set(names.filter((one) => typeof one === "string").slice(0, 10000));
  }

  /** The turns that are marked, in order. */
  get turns() {
    return this.ids.flatMap((id, at) => (this.marked.has(id) ? [at] : []));
  }

  /** @param {number} turn */
  has(turn) {
    const id = itemAt(this.ids, turn);
    return id !== undefined && this.marked.has(id);
  }

  /** @param {number} turn to mark, or to mark no longer */
  toggle(turn) {
    const id = itemAt(this.ids, turn);
    if (id === undefined) return;
    if (!this.marked.delete(id)) this.marked.add(id);
    this.keep();
  }

  clear() {
    this.marked.clear();
    this.keep();
  }

  keep() {
    if (this.marked.size) writeStored(WEAK_NAME, JSON.stringify([...this.marked]));
    else removeStored(WEAK_NAME);
  }

  /**
   * The marked turn after the one at a piece time; after the last the first again.
   * @param {number} position
   */
  next(position) {
    const here = turnAt(data, position);
    const { turns } = this;
    return turns.find((turn) => turn > here) ?? itemAt(turns, 0);
  }
}
