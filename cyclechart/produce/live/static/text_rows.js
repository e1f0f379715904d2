// What stands beside and behind the rows of the text pane: numbers, signs, underlines.

import { make } from "../../../write/webpage/static/elements.js";
import { rowEnd, rowIndex } from "./texts.js";

/** @typedef {import("./requests.js").Finding} Finding */

/** The shape that stands for a severity beside its word. */
export const SIGNS = { error: "✕", warning: "▲", advice: "●", liberty: "◇" };
const RANKS = ["liberty", "advice", "warning", "error"];
// Beyond so many characters of a row nothing is underlined.
const FARTHEST = 4000;
const MOST_UNDERLINED = 500;
// Rows that are drawn above and below what is seen.
const SPARE = 3;

/**
 * The worst of some findings.
 * @param {Finding[]} findings
 */
function worst(findings) {
  return findings.reduce((one, other) =>
    RANKS.indexOf(other.severity) > RANKS.indexOf(one.severity) ? other : one,
  );
}

export class TextRows {
  /**
   * @param {HTMLElement} gutter
   * @param {HTMLElement} marks
   * @param {(finding: Finding) => void} chosen a sign was tapped
   */
  constructor(gutter, marks, chosen) {
    this.gutter = gutter;
    this.marks = marks;
    this.chosen = chosen;
    /** @type {Map<number, Finding[]>} by the index of their row */
    this.byRow = new Map();
  }

  /**
   * Underline findings.
   * @param {string} text
   * @param {number[]} starts
   * @param {Finding[]} findings
   * @param {number} height of a row
   */
  show(text, starts, findings, height) {
    this.byRow.clear();
    const underlines = [];
    for (const finding of findings) {
      if (!finding.span || finding.span[0] > text.length) continue;
      const [start, end] = finding.span;
      const row = rowIndex(starts, start);
      const here = this.byRow.get(row);
      if (here) here.push(finding);
      else this.byRow.set(row, [finding]);
      const first = starts[row];
      if (start - first > FARTHEST || underlines.length >= MOST_UNDERLINED) continue;
      const stop = Math.max(start + 1, Math.min(end, rowEnd(text, start), first + FARTHEST));
      // An empty place is shown as one space.
      const under = make("span", { class: finding.severity }, text.slice(start, stop).trimEnd() || " ");
      const line = make("div", {}, text.slice(first, start), under);
      line.style.top = `${row * height}px`;
      underlines.push(line);
    }
    this.marks.replaceChildren(...underlines);
  }

  /**
   * Number the rows that are seen.
   * @param {{scrollTop: number, scrollLeft: number, clientHeight: number}} view
   * @param {number} rows how many there are
   * @param {number} height of a row
   * @param {number} caretRow the row of the caret
   */
  scroll({ scrollTop, scrollLeft, clientHeight }, rows, height, caretRow) {
    this.marks.style.transform = `translate(${-scrollLeft}px, ${-scrollTop}px)`;
    const first = Math.max(0, Math.floor(scrollTop / height) - SPARE);
    const last = Math.min(rows - 1, Math.ceil((scrollTop + clientHeight) / height) + SPARE);
    const numbers = [];
    for (let row = first; row <= last; row += 1) {
      const number = make("div", { class: row === caretRow ? "number here" : "number" });
      number.style.top = `${row * height - scrollTop}px`;
      const findings = this.byRow.get(row);
      if (findings) number.append(this.sign(findings));
      number.append(make("span", {}, String(row + 1)));
      numbers.push(number);
    }
    this.gutter.replaceChildren(...numbers);
  }

  /** @param {Finding[]} findings of a row */
  sign(findings) {
    const { severity } = worst(findings);
    const title = findings.map((one) => `${one.severity}: ${one.message}`).join("\n");
    const click = () => this.chosen(worst(findings));
    const sign = make("button", { type: "button", class: severity, tabindex: -1, title, on: { click } });
    sign.append(make("b", {}, SIGNS[severity]), make("small", {}, severity));
    return sign;
  }
}
