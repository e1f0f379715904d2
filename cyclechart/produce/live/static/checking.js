// The text judged while it is typed: one request at a time, always of the newest text.

import { send } from "./requests.js";

/** @typedef {import("./requests.js").Finding} Finding */

// After a key, so long until the text is judged.
const CHECK_PAUSE = 50;

export class Checking {
  /**
   * @param {() => string | null} text the text as it is, null for none yet
   * @param {{show: (findings: Finding[], state: string) => void, failed: () => void}} listeners
   */
  constructor(text, listeners) {
    this.text = text;
    this.listeners = listeners;
    this.isBusy = false;
    /** @type {string | null} the text that the findings shown are of */
    this.done = null;
    this.timer = 0;
  }

  soon() {
    clearTimeout(this.timer);
    this.timer = setTimeout(() => void this.check(), CHECK_PAUSE);
  }

  /** Judge the text, unless that is being done: then again afterwards. */
  async check() {
    const text = this.text();
    if (this.isBusy || text === null || text === this.done) return;
    this.isBusy = true;
    try {
      const { findings, state } = await send("check", { text });
      this.done = text;
      if (text === this.text()) this.listeners.show(findings, state);
    } catch {
      this.done = text;
      this.listeners.failed();
    } finally {
      this.isBusy = false;
    }
    if (this.text() !== text) void this.check();
  }
}
