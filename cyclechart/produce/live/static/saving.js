// What is saved and what is not: this text, the version it began from, and the file as it now is.

import { send } from "./requests.js";

/** @typedef {import("./requests.js").FileAnswer} FileAnswer */
/** @typedef {import("./text_pane.js").TextPane} TextPane */

/**
 * `clean`: the text is that of the file; `unsaved`: it has been changed; `changed`: the file has been
 * changed by somebody else, in a way that is not in the text yet.
 * @typedef {"loading" | "clean" | "unsaved" | "changed"} SaveState
 */

export class Saving {
  /**
   * @param {TextPane} pane
   * @param {{state: () => void, other: (answer: FileAnswer) => void, refused: (why: string) => void}} listeners
   *   `other`: somebody else has changed the file, which is as the answer says
   */
  constructor(pane, listeners) {
    this.pane = pane;
    this.listeners = listeners;
    this.base = "";
    /** The fingerprint of the version that the text began from. */
    this.fingerprint = "";
    /** That of the file, as far as is known. */
    this.disk = "";
    this.isLoaded = false;
    this.isBusy = false;
    /** True where a save was asked for while another was on its way. */
    this.isAsked = false;
    /** @type {FileAnswer | null} the other version, while it is not yet put together with the text */
    this.other = null;
  }

  /** @returns {SaveState} */
  get state() {
    if (!this.isLoaded) return "loading";
    if (this.other) return "changed";
    return this.pane.text === this.base ? "clean" : "unsaved";
  }

  /**
   * The text begins from a version now.
   * @param {string} base
   * @param {string} fingerprint
   * @param {number} [count] so many changes had been made to the text then
   */
  begin(base, fingerprint, count) {
    this.base = base;
    this.fingerprint = fingerprint;
    this.disk = fingerprint;
    this.other = null;
    this.isLoaded = true;
    this.pane.log.mark(fingerprint, count);
    this.listeners.state();
  }

  /** Save the text over the version that it began from. */
  async save() {
    this.isAsked = this.isBusy;
    if (this.isBusy || this.state === "loading" || this.state === "clean") return;
    this.isBusy = true;
    this.listeners.state();
    const { text } = this.pane;
    const { count } = this.pane.log;
    try {
      const { base, fingerprint } = this;
      /** @type {FileAnswer} */
      const answer = await send("save", { text, base, fingerprint });
      if (answer.refused) this.listeners.refused(answer.refused);
      else if (answer.saved) this.begin(text, answer.fingerprint, count);
      else this.meet(answer);
    } catch {
      this.listeners.refused("The command does not answer. The text is kept in this browser.");
    } finally {
      this.isBusy = false;
      this.listeners.state();
    }
    if (this.isAsked && this.state === "unsaved") await this.save();
  }

  /**
   * The file has another fingerprint than the text began from.
   * @param {string} fingerprint
   */
  async follow(fingerprint) {
    if (this.isBusy || !this.isLoaded || fingerprint === this.fingerprint) return;
    if (this.other && this.other.fingerprint === fingerprint) return;
    const answer = await this.look();
    if (answer) this.meet(answer);
  }

  /** Once the text is again what it began from, or what the file is, there is nothing to choose. */
  settle() {
    const { other } = this;
    if (!other?.fingerprint || other.text === null) return;
    if (this.pane.text === this.base || this.pane.text === other.text) this.meet(other);
  }

  /**
   * Ask what the text and the file can be put together from.
   * @returns {Promise<FileAnswer | null>}
   */
  async look() {
    try {
      const { base } = this;
      /** @type {FileAnswer} */
      const answer = await send("merge", { text: this.pane.text, base });
      if (!answer.refused) return answer;
      this.listeners.refused(answer.refused);
    } catch {
      this.listeners.refused("The command does not answer. The text is kept in this browser.");
    }
    return null;
  }

  /** @param {FileAnswer} answer the file as somebody else has saved it */
  meet(answer) {
    this.disk = answer.fingerprint;
    if (answer.text === null || (answer.fingerprint === "" && this.pane.text !== "")) {
      this.other = answer;
      this.listeners.other(answer);
    } else if (this.pane.text === this.base) {
      // Nothing of ours is lost: undo brings the text before back.
      this.pane.replaceAll(answer.text);
      this.begin(answer.text, answer.fingerprint);
    } else if (this.pane.text === answer.text || this.base === answer.text) {
      this.begin(answer.text, answer.fingerprint);
    } else {
      this.other = answer;
      this.listeners.other(answer);
    }
    this.listeners.state();
  }

  /**
   * Take up a text that was put together from both versions; it is not saved yet.
   * @param {string} text
   * @param {FileAnswer} answer the other version
   */
  together(text, answer) {
    this.other = null;
    this.pane.replaceAll(text);
    this.begin(answer.text ?? "", answer.fingerprint);
  }
}
