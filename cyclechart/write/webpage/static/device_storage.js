// What the page keeps on the device. Where a browser keeps nothing for it (private windows, files,
// full or blocked storage), it is forgotten with the page, and nothing else is lost.

/** @type {Map<string, string>} what this page alone remembers, where nothing can be stored */
const unstored = new Map();

/** @param {string} name */
function readStored(name) {
  try {
    return localStorage.getItem(name) ?? unstored.get(name) ?? null;
  } catch {
    return unstored.get(name) ?? null;
  }
}

/**
 * Keep a text; return whether the device keeps it.
 * @param {string} name
 * @param {string} text
 */
export function writeStored(name, text) {
  try {
    localStorage.setItem(name, text);
    unstored.delete(name);
    return true;
  } catch {
    unstored.set(name, text);
    return false;
  }
}

/** @param {string} name */
export function removeStored(name) {
  unstored.delete(name);
  try {
    localStorage.removeItem(name);
  } catch {
    // There was nothing to remove.
  }
}

/**
 * A stored value as data; null where there is none, or what another page or a fault has left.
 * @param {string} name
 * @returns {unknown}
 */
export function readStoredData(name) {
  try {
    return JSON.parse(readStored(name) ?? "null");
  } catch {
    return null;
  }
}

/** Whether the device keeps what the page stores. */
export function isStorageKept() {
  const name = "cyclechart trial";
  const isKept = writeStored(name, "1");
  removeStored(name);
  return isKept;
}

/**
 * Data as a mapping; an empty one where it is something else.
 * @param {unknown} value
 * @returns {Record<string, unknown>}
 */
export function asMapping(value) {
  const isMapping = typeof value === "object" && value !== null && !Array.isArray(value);
  return isMapping ? /** @type {Record<string, unknown>} */ (value) : {};
}
