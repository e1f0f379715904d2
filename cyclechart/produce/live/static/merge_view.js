// Two versions of the text side by side: what differs is chosen block by block, or whole.

import { button, make } from "../../../write/webpage/static/elements.js";

/** @typedef {import("./requests.js").MergeBlock} MergeBlock */
/** @typedef {"mine" | "theirs" | "mine, theirs"} Choice */

const NAMES = { mine: "Mine", theirs: "Theirs", "mine, theirs": "Both" };
const WORDS = { same: "", mine: "Changed by you", theirs: "Changed on disk", both: "Changed by both" };

/**
 * Blocks with as many rows in both versions, row by row.
 * @param {MergeBlock[]} blocks
 * @returns {MergeBlock[]}
 */
function byRows(blocks) {
  return blocks.flatMap((block) => {
    const { kind, base, mine, theirs } = block;
    if (kind !== "both" || mine.length !== theirs.length || base.length !== mine.length) return [block];
    return mine.map((row, at) => rowBlock(row, theirs[at], base[at]));
  });
}

/**
 * @param {string} mine
 * @param {string} theirs
 * @param {string} base
 * @returns {MergeBlock}
 */
function rowBlock(mine, theirs, base) {
  /** @type {MergeBlock["kind"]} */
  let kind = "both";
  if (mine === theirs) kind = "same";
  else if (mine === base) kind = "theirs";
  else if (theirs === base) kind = "mine";
  return { kind, base: [base], mine: [mine], theirs: [theirs] };
}

export class MergeView {
  /**
   * @param {HTMLDialogElement} dialog
   * @param {HTMLElement} body
   * @param {HTMLButtonElement} use
   */
  constructor(dialog, body, use) {
    this.dialog = dialog;
    this.body = body;
    this.use = use;
    /** @type {MergeBlock[]} */
    this.blocks = [];
    /** @type {(Choice | null)[]} */
    this.choices = [];
    /** @type {(text: string) => void} */
    this.taken = () => {};
    use.addEventListener("click", () => this.take());
  }

  /**
   * Let blocks be chosen from.
   * @param {MergeBlock[]} blocks
   * @param {(text: string) => void} taken is given the text that was chosen
   */
  open(blocks, taken) {
    this.blocks = byRows(blocks);
    this.taken = taken;
    this.choices = this.blocks.map(({ kind }) => {
      if (kind === "both") return null;
      return kind === "theirs" ? "theirs" : "mine";
    });
    this.draw();
    if (!this.dialog.open) this.dialog.showModal();
  }

  /** @param {Choice} choice for every block */
  all(choice) {
    this.choices = this.choices.map(() => choice);
    this.draw();
  }

  draw() {
    this.body.replaceChildren(...this.blocks.map((block, at) => this.block(block, at)));
    this.use.disabled = this.choices.includes(null);
  }

  /**
   * @param {MergeBlock} block
   * @param {number} at
   */
  block(block, at) {
    const { kind, mine, theirs } = block;
    if (kind === "same") return sameRows(mine);
    const group = make("fieldset", { class: `block ${kind}` }, make("legend", {}, WORDS[kind]));
    const sides = make("div", { class: "sides" });
    sides.append(this.side("Mine", mine, at, "mine"), this.side("Theirs", theirs, at, "theirs"));
    const row = make("div", { class: "choices" });
    for (const choice of /** @type {Choice[]} */ (Object.keys(NAMES))) {
      if (choice === "mine, theirs" && !(mine.length && theirs.length)) continue;
      const choose = () => this.choose(at, choice);
      const pressed = String(this.choices[at] === choice);
      row.append(button(NAMES[choice], choose, { "aria-pressed": pressed, "data-choice": choice }));
    }
    group.append(sides, row);
    return group;
  }

  /**
   * @param {string} title
   * @param {string[]} rows
   * @param {number} at
   * @param {"mine" | "theirs"} side
   */
  side(title, rows, at, side) {
    const isIn = (this.choices[at] ?? "").includes(side);
    const text = rows.length ? rows.join("\n") : "(no rows)";
    const body = make("pre", { class: rows.length ? "" : "none" }, text || " ");
    return make("div", { class: isIn ? "side in" : "side" }, make("strong", {}, title), body);
  }

  /**
   * @param {number} at
   * @param {Choice} choice
   */
  choose(at, choice) {
    this.choices[at] = choice;
    this.draw();
    const chosen = this.body.children.item(at)?.querySelector(`[data-choice="${choice}"]`);
    if (chosen instanceof HTMLElement) chosen.focus();
  }

  take() {
    const rows = this.blocks.flatMap((block, at) => {
      const choice = this.choices[at] ?? "mine";
      if (choice === "mine, theirs") return [...block.mine, ...block.theirs];
      return choice === "theirs" ? block.theirs : block.mine;
    });
    this.dialog.close();
    this.taken(rows.join("\n"));
  }
}

// Rows that are the same, shown around what differs.
const AROUND = 2;

/** @param {string[]} rows */
function sameRows(rows) {
  const left = rows.length - 2 * AROUND;
  const shown =
    left > 1 ? [...rows.slice(0, AROUND), `… ${left} rows alike …`, ...rows.slice(-AROUND)] : rows;
  return make("pre", { class: "same" }, shown.join("\n") || " ");
}
