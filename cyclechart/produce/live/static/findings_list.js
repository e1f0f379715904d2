// The findings under the text: each with its sentence, what to try, and buttons that do it.

import { button, make } from "../../../write/webpage/static/elements.js";
import { SIGNS } from "./text_rows.js";

/** @typedef {import("./requests.js").Finding} Finding */
/** @typedef {import("./requests.js").Try} Try */

/**
 * What is worst stands first; within that they stay in the order of the text.
 * @param {Finding} finding
 */
function rank(finding) {
  return ["error", "warning", "advice", "liberty"].indexOf(finding.severity);
}

export class FindingsList {
  /**
   * @param {HTMLElement} list
   * @param {{go: (finding: Finding) => void, apply: (one: Try) => void}} actions
   */
  constructor(list, actions) {
    this.list = list;
    this.actions = actions;
    /** @type {Finding[]} */
    this.findings = [];
    this.chosen = -1;
    this.shown = "";
  }

  /** @param {Finding[]} findings */
  show(findings) {
    this.findings = [...findings].sort((one, other) => rank(one) - rank(other));
    const texts = JSON.stringify(this.findings);
    // What has not changed stays, with the focus in it.
    if (texts === this.shown) return;
    this.shown = texts;
    this.chosen = -1;
    this.list.replaceChildren(...this.findings.map((finding) => this.item(finding)));
  }

  /** @param {Finding} finding */
  item(finding) {
    const { severity, rule, file, line, span, message, taken, tries } = finding;
    const item = make("li", { class: severity });
    const where = span ? `row ${line}` : `${file}, row ${line}`;
    const head = button("", () => this.actions.go(finding), { class: "head", disabled: !span });
    head.append(make("b", { "aria-hidden": true }, SIGNS[severity]), make("strong", {}, severity));
    head.append(make("span", {}, where), make("small", {}, rule));
    item.append(head, make("p", { dir: "auto" }, message));
    if (taken) item.append(make("p", {}, `Taken on purpose: ${taken}`));
    item.append(...tries.map((one) => this.try(one)));
    return item;
  }

  /** @param {Try} one */
  try(one) {
    const row = make("div", { class: "try" }, make("pre", { dir: "auto" }, `try: ${one.text}`));
    if (one.edits.length) {
      const apply = () => this.actions.apply(one);
      row.append(button("Apply", apply, { class: "apply", "aria-label": `Apply: ${one.text}` }));
    }
    return row;
  }

  /**
   * Show which finding is meant.
   * @param {Finding} finding
   * @param {boolean} isFocused the keyboard goes on there
   */
  choose(finding, isFocused) {
    this.chosen = this.findings.findIndex(
      (one) => one.rule === finding.rule && one.message === finding.message && one.line === finding.line,
    );
    [...this.list.children].forEach((item, at) => item.classList.toggle("chosen", at === this.chosen));
    const item = this.list.children.item(this.chosen);
    if (!item) return;
    item.scrollIntoView({ block: "nearest" });
    const first = item.querySelector(".apply") ?? item.querySelector(".head");
    if (isFocused && first instanceof HTMLElement) first.focus();
  }

  /** The first thing to try of the chosen finding that a button can do. */
  get firstTry() {
    const finding = this.findings.at(this.chosen);
    return this.chosen < 0 ? undefined : finding?.tries.find((one) => one.edits.length);
  }

  /**
   * The finding before or after a place in the text; at the end it begins again.
   * @param {number} place
   * @param {1 | -1} by
   */
  next(place, by) {
    const starts = (/** @type {Finding} */ finding) => finding.span?.[0] ?? 0;
    const placed = this.findings
      .filter((finding) => finding.span)
      .sort((one, other) => starts(one) - starts(other));
    if (by > 0) return placed.find((one) => starts(one) > place) ?? placed.at(0);
    return placed.filter((one) => starts(one) < place).at(-1) ?? placed.at(-1);
  }
}
