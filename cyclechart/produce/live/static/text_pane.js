// The text pane: a plain field with numbered rows, steps of its own to take back, and underlines.

import { changeBetween, changed, EditLog } from "./edit_log.js";
import { TextRows } from "./text_rows.js";
import { enterEdit, indentEdit, rowIndex, rowStarts } from "./texts.js";
import { UndoStack } from "./undo.js";

/** @typedef {import("./edit_log.js").Change} Change */
/** @typedef {import("./requests.js").Finding} Finding */

export class TextPane {
  /**
   * @param {{field: HTMLTextAreaElement, gutter: HTMLElement, marks: HTMLElement}} elements
   * @param {{changed: () => void, caret: () => void, chosen: (finding: Finding) => void}} listeners
   */
  constructor({ field, gutter, marks }, listeners) {
    this.field = field;
    this.listeners = listeners;
    this.rows = new TextRows(gutter, marks, listeners.chosen);
    this.log = new EditLog();
    this.steps = new UndoStack();
    this.text = field.value;
    this.starts = rowStarts(this.text);
    /** @type {Finding[]} */
    this.findings = [];
    this.caretBefore = 0;
    this.leaves = false;
    this.isDrawn = false;
    field.addEventListener("input", (event) => this.typed(event));
    field.addEventListener("beforeinput", (event) => this.beforeInput(event));
    field.addEventListener("keydown", (event) => this.key(event));
    field.addEventListener("scroll", () => this.drawSoon());
    document.addEventListener("selectionchange", () => {
      if (document.activeElement === field) this.caretMoved();
    });
    new ResizeObserver(() => this.drawSoon()).observe(field);
    this.drawSoon();
  }

  /** The height of a row in pixels. */
  get rowHeight() {
    return Number.parseFloat(getComputedStyle(this.field).lineHeight);
  }

  get caret() {
    return this.field.selectionStart;
  }

  caretMoved() {
    this.listeners.caret();
    this.drawSoon();
  }

  drawSoon() {
    if (this.isDrawn) return;
    this.isDrawn = true;
    requestAnimationFrame(() => {
      this.isDrawn = false;
      this.draw();
    });
  }

  draw() {
    const caretRow = rowIndex(this.starts, this.caret);
    this.rows.scroll(this.field, this.starts.length, this.rowHeight, caretRow);
  }

  /** @param {InputEvent} event */
  beforeInput(event) {
    this.caretBefore = this.caret;
    if (event.inputType === "historyUndo" || event.inputType === "historyRedo") {
      event.preventDefault();
      if (event.inputType === "historyUndo") this.undo();
      else this.redo();
    }
  }

  /** @param {Event} event */
  typed(event) {
    const type = event instanceof InputEvent ? event.inputType : "";
    /** @type {"insert" | "delete" | "other"} */
    let kind = "other";
    if (type === "insertText" || type === "insertCompositionText") kind = "insert";
    else if (type === "deleteContentBackward") kind = "delete";
    this.took(changeBetween(this.text, this.field.value), kind, this.caretBefore);
  }

  /**
   * @param {Change | null} change
   * @param {"insert" | "delete" | "other"} kind
   * @param {number} from
   */
  took(change, kind, from) {
    if (!change) return;
    this.steps.add(change, kind, from, performance.now());
    this.becomes(change);
  }

  /**
   * The text has been changed.
   * @param {Change} change
   */
  becomes(change) {
    this.log.add(change);
    this.text = changed(this.text, change);
    this.starts = rowStarts(this.text);
    this.shiftFindings(change);
    this.showFindings(this.findings);
    this.listeners.changed();
    this.caretMoved();
  }

  /**
   * Until the text is judged again, underlines move with it.
   * @param {Change} change
   */
  shiftFindings({ at, removed, inserted }) {
    const by = inserted.length - removed.length;
    this.findings = this.findings.flatMap((finding) => {
      if (!finding.span) return [finding];
      const [start, end] = finding.span;
      if (end <= at) return [finding];
      if (start < at + removed.length) return [];
      return [{ ...finding, span: /** @type {[number, number]} */ ([start + by, end + by]) }];
    });
  }

  /**
   * Change the text by a button or a key: one step to take back.
   * @param {number} start
   * @param {number} end
   * @param {string} text
   * @param {[number, number]} [caret] the selection after it
   */
  replace(start, end, text, caret = [start + text.length, start + text.length]) {
    this.put({ at: start, removed: this.text.slice(start, end), inserted: text }, caret, true);
  }

  /**
   * Put another text in place of all, as one step; the caret stays where it is in it.
   * @param {string} text
   */
  replaceAll(text) {
    const change = changeBetween(this.text, text);
    if (!change) return;
    const { selectionStart, selectionEnd } = this.field;
    const move = (/** @type {number} */ place) =>
      place <= change.at
        ? place
        : Math.max(change.at, place + change.inserted.length - change.removed.length);
    this.put(change, [move(selectionStart), move(selectionEnd)], true);
  }

  /**
   * Carry out edits, given from the last to the first, as one step.
   * @param {[start: number, end: number, text: string][]} edits
   */
  edit(edits) {
    let text = this.text;
    for (const [start, end, put] of edits) text = text.slice(0, start) + put + text.slice(end);
    const change = changeBetween(this.text, text);
    if (!change) return;
    const end = change.at + change.inserted.length;
    this.put(change, [end, end], true);
    this.reveal(change.at);
  }

  /**
   * @param {Change} change
   * @param {[number, number]} caret
   * @param {boolean} isStep whether it can be taken back
   */
  put(change, caret, isStep) {
    const { scrollTop, scrollLeft } = this.field;
    if (isStep) {
      this.steps.close();
      this.steps.add(change, "other", this.caret, performance.now());
    }
    this.field.value = changed(this.text, change);
    this.field.setSelectionRange(...caret);
    this.field.scrollTop = scrollTop;
    this.field.scrollLeft = scrollLeft;
    this.becomes(change);
  }

  undo() {
    this.step(this.steps.undo());
  }

  redo() {
    this.step(this.steps.redo());
  }

  /** @param {{change: Change, caret: number} | null} step */
  step(step) {
    if (!step) return;
    this.put(step.change, [step.caret, step.caret], false);
    this.reveal(step.change.at);
  }

  /** @param {KeyboardEvent} event */
  key(event) {
    if (event.ctrlKey || event.metaKey) this.commandKey(event);
    else if (!event.altKey && !event.isComposing) this.plainKey(event);
    // After Escape, Tab leaves the field: the keyboard is not caught in it.
    if (event.key !== "Shift") this.leaves = event.key === "Escape";
  }

  /** @param {KeyboardEvent} event with Ctrl, or Command on a Mac */
  commandKey(event) {
    const letter = event.key.toLowerCase();
    if (event.altKey || (letter !== "z" && letter !== "y")) return;
    event.preventDefault();
    if (letter === "y" || event.shiftKey) this.redo();
    else this.undo();
  }

  /** @param {KeyboardEvent} event */
  plainKey(event) {
    if (this.field.readOnly) return;
    const { selectionStart: start, selectionEnd: end } = this.field;
    if (event.key === "Tab" && !this.leaves) {
      event.preventDefault();
      this.rowEdit(indentEdit(this.text, start, end, event.shiftKey));
    } else if (event.key === "Enter") {
      event.preventDefault();
      this.rowEdit(enterEdit(this.text, start, end));
    }
  }

  /** @param {import("./texts.js").RowEdit | null} edit */
  rowEdit(edit) {
    if (!edit) return;
    this.replace(edit.start, edit.end, edit.text, edit.caret);
    this.reveal(edit.caret[0]);
  }

  /** @param {Finding[]} findings of the text as it is */
  showFindings(findings) {
    this.findings = findings;
    this.rows.show(this.text, this.starts, findings, this.rowHeight);
    this.drawSoon();
  }

  /**
   * Bring a place into view.
   * @param {number} place
   */
  reveal(place) {
    const { field, rowHeight } = this;
    const row = rowIndex(this.starts, place);
    const top = row * rowHeight;
    const room = field.clientHeight - 3 * rowHeight;
    if (top < field.scrollTop || top > field.scrollTop + room) {
      field.scrollTop = Math.max(0, top - field.clientHeight / 3);
    }
    const left = this.leftOf(this.text.slice(this.starts[row], place));
    if (left < field.scrollLeft || left > field.scrollLeft + field.clientWidth - 60) {
      field.scrollLeft = Math.max(0, left - field.clientWidth / 2);
    }
    this.drawSoon();
  }

  /**
   * The width of the beginning of a row.
   * @param {string} text
   */
  leftOf(text) {
    const context = document.createElement("canvas").getContext("2d");
    if (!context) return 0;
    context.font = getComputedStyle(this.field).font;
    return context.measureText(text).width;
  }

  /**
   * Select a span and show it.
   * @param {number} start
   * @param {number} end
   * @param {boolean} isFocused the keyboard goes on there
   */
  select(start, end, isFocused) {
    if (isFocused) this.field.focus({ preventScroll: true });
    this.field.setSelectionRange(start, end);
    this.reveal(start);
    this.caretMoved();
  }
}
