// What was changed in a text, step by step, and where a place of an earlier version is now.

/**
 * A change: at `at`, `removed` gave way to `inserted`.
 * @typedef {object} Change
 * @property {number} at
 * @property {string} removed
 * @property {string} inserted
 */

// So many versions are remembered.
const MOST_VERSIONS = 8;

/**
 * The one change that makes a text of another; null for none.
 * @param {string} before
 * @param {string} after
 * @returns {Change | null}
 */
export function changeBetween(before, after) {
  if (before === after) return null;
  const shorter = Math.min(before.length, after.length);
  let head = 0;
  while (head < shorter && before.charCodeAt(head) === after.charCodeAt(head)) head += 1;
  let tail = 0;
  while (
    tail < shorter - head &&
    before.charCodeAt(before.length - 1 - tail) === after.charCodeAt(after.length - 1 - tail)
  ) {
    tail += 1;
  }
  return {
    at: head,
    removed: before.slice(head, before.length - tail),
    inserted: after.slice(head, after.length - tail),
  };
}

/**
 * A text after a change.
 * @param {string} text
 * @param {Change} change
 */
export function changed(text, { at, removed, inserted }) {
  return text.slice(0, at) + inserted + text.slice(at + removed.length);
}

/**
 * The change that takes a change back.
 * @param {Change} change
 * @returns {Change}
 */
export function inverse({ at, removed, inserted }) {
  return { at, removed: inserted, inserted: removed };
}

/**
 * Where a place is after a change; in what was removed, where that began.
 * @param {number} place
 * @param {Change} change
 */
function moved(place, { at, removed, inserted }) {
  if (place >= at + removed.length) return place + inserted.length - removed.length;
  return Math.min(place, at);
}

export class EditLog {
  constructor() {
    /** @type {Change[]} */
    this.changes = [];
    /** How many changes are forgotten. */
    this.forgotten = 0;
    /** @type {Map<string, number>} how many changes had been made, by the fingerprint of a version */
    this.versions = new Map();
  }

  /** How many changes have been made. */
  get count() {
    return this.forgotten + this.changes.length;
  }

  /** @param {Change} change */
  add(change) {
    this.changes.push(change);
  }

  /**
   * Remember that the text was a version of the file.
   * @param {string} fingerprint
   * @param {number} [count] after so many changes
   */
  mark(fingerprint, count = this.count) {
    this.versions.delete(fingerprint);
    this.versions.set(fingerprint, count);
    for (const oldest of this.versions.keys()) {
      if (this.versions.size <= MOST_VERSIONS) break;
      this.versions.delete(oldest);
    }
    const first = Math.min(...this.versions.values());
    this.changes.splice(0, first - this.forgotten);
    this.forgotten = Math.max(this.forgotten, first);
  }

  /**
   * Where a place of a version is now; null for a version that is not known.
   * @param {string} fingerprint
   * @param {number} place
   */
  forward(fingerprint, place) {
    const count = this.versions.get(fingerprint);
    if (count === undefined) return null;
    return this.changes.slice(count - this.forgotten).reduce(moved, place);
  }

  /**
   * Where a place of the text was in a version.
   * @param {string} fingerprint
   * @param {number} place
   */
  back(fingerprint, place) {
    const count = this.versions.get(fingerprint);
    if (count === undefined) return null;
    const since = this.changes.slice(count - this.forgotten).reverse();
    return since.reduce((at, change) => moved(at, inverse(change)), place);
  }
}
