// The data of the page, how its packed parts are decoded, and small sums that several files share.

/** @typedef {import("./schema.js").PageData} PageData */
/** @typedef {import("./schema.js").PartData} PartData */

export const data = /** @type {PageData} */ (JSON.parse(byId("data").textContent));

/**
 * Return an element that page.html has.
 * @param {string} id
 * @returns {HTMLElement}
 */
export function byId(id) {
  const element = document.getElementById(id);
  if (!element) throw new Error(`The page has no element "${id}".`);
  return element;
}

/** @param {string} base64 */
export function bytesOf(base64) {
  const text = atob(base64);
  const bytes = new Uint8Array(text.length);
  for (let at = 0; at < text.length; at += 1) bytes[at] = text.charCodeAt(at);
  return bytes;
}

/**
 * Decode a part: base64, deflated (raw), JSON.
 * @param {string} base64
 * @returns {Promise<PartData>}
 */
export async function decodePart(base64) {
  const packed = new Blob([bytesOf(base64)]).stream();
  const plain = packed.pipeThrough(new DecompressionStream("deflate-raw"));
  return JSON.parse(await new Response(plain).text());
}

/**
 * Return the last index whose number, by `numberOf`, is at most `most`; -1 where there is none.
 * @template T
 * @param {readonly T[]} list in rising order
 * @param {number} most
 * @param {(item: T) => number} numberOf
 */
export function lastAtMost(list, most, numberOf) {
  let low = 0;
  let high = list.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (numberOf(list[middle]) <= most) low = middle + 1;
    else high = middle;
  }
  return low - 1;
}

/**
 * Return an item of a list; undefined before its beginning and after its end.
 * @template T
 * @param {readonly T[]} list
 * @param {number} index
 * @returns {T | undefined}
 */
export function itemAt(list, index) {
  return list[index];
}

/**
 * The semitones by which all sounds move: those of Sa and its cents.
 * @param {{shift: number, cents?: number}} settings
 */
export function soundShift({ shift, cents = 0 }) {
  return shift + cents / 100;
}

/** @param {number} decibels */
export function gainOf(decibels) {
  return 10 ** (decibels / 20);
}
