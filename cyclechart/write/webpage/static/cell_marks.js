// While a piece is being written: the notes of the cell at the caret of its text, and the cell of a
// note that is tapped.

import { byId, data, lastAtMost } from "./data.js";
import { partView, player } from "./main.js";
import { TOLERANCE } from "./turns.js";

/** @typedef {NonNullable<import("./schema.js").PartData["cells"]>[number]} Cell */

// A tap so many pixels beside a note is still meant for it.
const REACH = 30;
/** @type {Set<Element>} */
const written = new Set();
let marked = "";

/**
 * The ids of the notes that are written in the cell at a place, or in the last before it in its row.
 * @param {number} row where its row begins
 * @param {number} place
 */
function idsAt(row, place) {
  let nearest = -1;
  for (const [start] of partView.cells) {
    if (start >= row && start <= place && start > nearest) nearest = start;
  }
  return partView.cells.filter(([start]) => start === nearest).map(([, , id]) => id);
}

/**
 * Mark the notes of a cell, and bring the first of them into view unless the piece is playing.
 * @param {number} row
 * @param {number} place
 */
export function markCell(row, place) {
  const ids = idsAt(row, place);
  const isNew = marked !== ids.join(" ");
  marked = ids.join(" ");
  for (const element of written) element.classList.remove("written");
  written.clear();
  for (const id of ids) {
    const element = partView.frame(id);
    if (!element) continue;
    element.classList.add("written");
    written.add(element);
  }
  const [first] = written;
  if (first instanceof Element && isNew && player.state !== "playing") show(first);
}

/** @param {Element} element */
function show(element) {
  const view = byId("score").getBoundingClientRect();
  const note = element.getBoundingClientRect();
  const isSeen =
    note.top >= view.top && note.bottom <= view.bottom && note.left >= view.left && note.right <= view.right;
  if (!isSeen) element.scrollIntoView({ block: "center", inline: "center" });
}

/**
 * The cell of the note nearest to a point.
 * @param {number} x
 * @param {number} y
 * @returns {Cell | null}
 */
export function cellNear(x, y) {
  let best = null;
  let least = REACH;
  for (const cell of partView.cells) {
    const box = partView.places.get(cell[2])?.element.getBoundingClientRect();
    if (!box) continue;
    const aside = Math.max(box.left - x, x - box.right, 0);
    const above = Math.max(box.top - y, y - box.bottom, 0);
    const away = Math.hypot(aside, above) + Math.abs((box.left + box.right) / 2 - x) / 1000;
    if (away < least) {
      least = away;
      best = cell;
    }
  }
  return best;
}

/**
 * The cell of the note that sounds now, or of the last before.
 * @returns {Cell | null}
 */
export function cellNow() {
  const { position } = player.now();
  const cells = new Map(partView.cells.map((cell) => [cell[2], cell]));
  let at = lastAtMost(partView.notes, position + TOLERANCE, ([start]) => start);
  while (at > 0 && !cells.has(partView.notes[at][2])) at -= 1;
  const [, , id] = partView.notes[Math.max(0, at)] ?? [];
  return (data.live && cells.get(id)) || null;
}
