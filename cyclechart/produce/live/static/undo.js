// Undo and redo for the text pane: of what is typed, and of all that buttons do to the text.

import { inverse } from "./edit_log.js";

/** @typedef {import("./edit_log.js").Change} Change */
/** @typedef {Change & {from: number, kind: string, time: number}} Step `from`: the caret before it */

// Keys struck within so many milliseconds are taken back together.
const ONE_STEP = 1000;
const MOST_STEPS = 2000;
const WORD_END = /\s$/;

/**
 * Whether a change only goes on with what the step before it began.
 * @param {Step | undefined} last
 * @param {Step} step
 */
function goesOn(last, step) {
  if (!last || last.kind !== step.kind || step.time - last.time > ONE_STEP) return false;
  if (step.kind === "insert") {
    const isNext = !last.removed && !step.removed && last.at + last.inserted.length === step.at;
    return isNext && !step.inserted.includes("\n") && !WORD_END.test(last.inserted);
  }
  return step.kind === "delete" && !step.inserted && step.at + step.removed.length === last.at;
}

export class UndoStack {
  constructor() {
    /** @type {Step[]} */
    this.done = [];
    /** @type {Step[]} */
    this.undone = [];
  }

  /**
   * @param {Change} change
   * @param {"insert" | "delete" | "other"} kind typed letters, deleted ones, or anything else
   * @param {number} from the caret before it
   * @param {number} time in milliseconds
   */
  add(change, kind, from, time) {
    const step = { ...change, kind, from, time };
    const last = this.done.at(-1);
    this.undone = [];
    if (last && goesOn(last, step)) {
      if (kind === "insert") last.inserted += step.inserted;
      else Object.assign(last, { at: step.at, removed: step.removed + last.removed });
      last.time = time;
      return;
    }
    this.done.push(step);
    if (this.done.length > MOST_STEPS) this.done.shift();
  }

  /** Keys that are struck from here on are a step of their own. */
  close() {
    const last = this.done.at(-1);
    if (last) last.kind = "other";
  }

  /**
   * The change that takes the last step back, and where the caret goes; null for none.
   * @returns {{change: Change, caret: number} | null}
   */
  undo() {
    const step = this.done.pop();
    if (!step) return null;
    this.undone.push(step);
    return { change: inverse(step), caret: step.from };
  }

  /** @returns {{change: Change, caret: number} | null} */
  redo() {
    const step = this.undone.pop();
    if (!step) return null;
    this.done.push({ ...step, kind: "other" });
    return { change: step, caret: step.at + step.inserted.length };
  }
}
