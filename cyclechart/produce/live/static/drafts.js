// Unsaved texts, kept in the browser: a tab that is closed loses nothing.

/**
 * A text that is not saved: what it began from, and when it was last changed.
 * @typedef {object} Draft
 * @property {string} text
 * @property {string} base
 * @property {string} fingerprint
 * @property {number} time
 */

const PREFIX = "cyclechart draft ";
// Milliseconds in which other tabs say which drafts are theirs.
const ANSWER_TIME = 200;
const tab = `${Date.now().toString(36)}${Math.random().toString(36).slice(2)}`;

/**
 * @param {string | null} stored
 * @returns {Draft | null}
 */
function draftOf(stored) {
  try {
    const draft = JSON.parse(stored ?? "");
    const isWhole = [draft.text, draft.base, draft.fingerprint].every((one) => typeof one === "string");
    return isWhole && typeof draft.time === "number" ? draft : null;
  } catch {
    return null;
  }
}

export class Drafts {
  /** @param {string} piece the name of the piece */
  constructor(piece) {
    this.prefix = `${PREFIX}${piece} `;
    /** False where the browser keeps nothing. */
    this.works = true;
    /** @type {Set<string>} */
    this.alive = new Set();
    /** @type {BroadcastChannel | null} */
    this.channel = null;
    this.listen();
    addEventListener("pagehide", () => this.channel?.close());
    addEventListener("pageshow", (event) => {
      if (event.persisted) this.listen();
    });
  }

  /** Answer other tabs that ask whose drafts there are. */
  listen() {
    this.channel = new BroadcastChannel(this.prefix);
    this.channel.onmessage = ({ data }) => {
      if (data === "who?") this.channel?.postMessage(tab);
      else this.alive.add(String(data));
    };
  }

  /**
   * Keep a text; null for none that has to be kept.
   * @param {Draft | null} draft
   */
  keep(draft) {
    try {
      if (draft) localStorage.setItem(this.prefix + tab, JSON.stringify(draft));
      else localStorage.removeItem(this.prefix + tab);
      this.works = true;
    } catch {
      this.works = false;
    }
  }

  /**
   * The drafts of tabs that are closed, the newest first.
   * @returns {Promise<{name: string, draft: Draft}[]>}
   */
  async left() {
    this.alive.clear();
    this.channel?.postMessage("who?");
    await new Promise((resolve) => {
      setTimeout(resolve, ANSWER_TIME);
    });
    const found = [];
    try {
      for (const name of Object.keys(localStorage)) {
        const owner = name.startsWith(this.prefix) ? name.slice(this.prefix.length) : tab;
        const draft = owner === tab || this.alive.has(owner) ? null : draftOf(localStorage.getItem(name));
        if (draft) found.push({ name, draft });
      }
    } catch {
      this.works = false;
    }
    return found.sort((one, other) => other.draft.time - one.draft.time);
  }

  /** @param {string} name of a draft that was left, and is taken up or no longer wanted */
  forget(name) {
    try {
      localStorage.removeItem(name);
    } catch {
      this.works = false;
    }
  }
}
