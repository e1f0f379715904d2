// Rows of a text, and what keys do to them.

/** @typedef {{start: number, end: number, text: string, caret: [number, number]}} RowEdit */

export const INDENT = "  ";

/**
 * Where the row of a place begins.
 * @param {string} text
 * @param {number} place
 */
export function rowStart(text, place) {
  return place <= 0 ? 0 : text.lastIndexOf("\n", place - 1) + 1;
}

/**
 * Where the row of a place ends.
 * @param {string} text
 * @param {number} place
 */
export function rowEnd(text, place) {
  const end = text.indexOf("\n", place);
  return end < 0 ? text.length : end;
}

/**
 * The offsets at which rows begin.
 * @param {string} text
 */
export function rowStarts(text) {
  const starts = [0];
  for (let at = text.indexOf("\n"); at >= 0; at = text.indexOf("\n", at + 1)) starts.push(at + 1);
  return starts;
}

/**
 * The index of the row that a place is in.
 * @param {number[]} starts
 * @param {number} place
 */
export function rowIndex(starts, place) {
  let low = 0;
  let high = starts.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (starts[middle] <= place) low = middle + 1;
    else high = middle;
  }
  return low - 1;
}

/**
 * What the key Tab does: rows that are selected are moved in, else the caret goes to the next step.
 * @param {string} text
 * @param {number} start of the selection
 * @param {number} end
 * @param {boolean} isBack with Shift: rows are moved out
 * @returns {RowEdit | null}
 */
export function indentEdit(text, start, end, isBack) {
  const first = rowStart(text, start);
  if (!isBack && !text.slice(start, end).includes("\n")) {
    const step = INDENT.slice((start - first) % INDENT.length);
    return { start, end, text: step, caret: [start + step.length, start + step.length] };
  }
  // A selection up to the beginning of a row leaves that row alone.
  const last = end > start && text[end - 1] === "\n" ? end - 1 : end;
  const stop = rowEnd(text, last);
  const rows = text.slice(first, stop).split("\n");
  const moved = rows.map((row) => (isBack ? row.replace(/^ {1,2}|^\t/, "") : row && INDENT + row));
  const joined = moved.join("\n");
  if (joined === text.slice(first, stop)) return null;
  const by = moved[0].length - rows[0].length;
  const caret = Math.max(first, start + by);
  return { start: first, end: stop, text: joined, caret: [caret, end + joined.length - (stop - first)] };
}

/**
 * What the key Enter does: the new row is as far in as the old one, after a key further.
 * @param {string} text
 * @param {number} start
 * @param {number} end
 * @returns {RowEdit}
 */
export function enterEdit(text, start, end) {
  const row = text.slice(rowStart(text, start), start);
  const inset = /^ */.exec(row)?.[0] ?? "";
  const opens = /^\s*(?:- )?[^\s#'"][^#]*:(?:\s*[|>][+-]?)?\s*$/.test(row);
  const added = `\n${inset}${opens ? INDENT : ""}`;
  return { start, end, text: added, caret: [start + added.length, start + added.length] };
}
