// The settings of practice: how a start is counted, and a loop that gets faster.

import { checkbox, dropdown, make, row } from "./elements.js";

/** @typedef {import("./actions.js").Actions} Actions */
/** @typedef {import("./settings.js").Settings} Settings */

/**
 * @param {number} from
 * @param {number} to
 * @param {number} step
 */
function percents(from, to, step) {
  /** @type {[number, string][]} */
  const found = [];
  for (let at = from; at <= to; at += step) found.push([at, `${at} %`]);
  return found;
}

/**
 * How a start is counted: not, with the last section of the cycle, or with all of it.
 * @param {Actions} actions
 */
export function countPanel(actions) {
  /** @type {[string, string][]} */
  const choices = [
    ["none", "None"],
    ["section", "Last section of the cycle"],
    ["cycle", "Whole cycle"],
  ];
  const list = dropdown("Count-in", choices, (value) =>
    actions.countLength(value === "cycle" || value === "section" ? value : "none"),
  );
  const element = row(make("span", {}, "Count-in"), list);
  return {
    element,
    refresh: (/** @type {Settings} */ { count, countLength }) => {
      list.value = count ? countLength : "none";
    },
  };
}

/**
 * A loop that gets faster: from, by, after so many rounds, up to.
 * @param {Actions} actions
 * @param {Settings} settings
 */
export function fasterPanel(actions, settings) {
  const { box, label } = checkbox("Get faster, round by round, with a count-in", settings.faster.on, (on) =>
    actions.faster({ on }),
  );
  const by = [1, 2, 3, 4, 5, 10, 15, 20].map((value) => /** @type {[number, string]} */ ([value, `${value} %`]));
  const every = [1, 2, 3, 4, 5, 6, 8, 12, 16].map((value) =>
    /** @type {[number, string]} */ ([value, value === 1 ? "each round" : `${value} rounds`]));
  const lists = {
    from: dropdown("Tempo of the first rounds", percents(40, 135, 5), (value) => actions.faster({ from: Number(value) })),
    by: dropdown("Faster by", by, (value) => actions.faster({ by: Number(value) })),
    every: dropdown("Faster after", every, (value) => actions.faster({ every: Number(value) })),
    to: dropdown("Tempo of the last rounds", percents(45, 140, 5), (value) => actions.faster({ to: Number(value) })),
  };
  const short = (/** @type {string} */ text) => make("span", { class: "short" }, text);
  const elements = [
    label,
    row(short("From"), lists.from, short("by"), lists.by),
    row(short("after"), lists.every, short("up to"), lists.to),
  ];
  return {
    elements,
    refresh: (/** @type {Settings} */ { faster }) => {
      box.checked = faster.on;
      lists.from.value = String(faster.from);
      lists.by.value = String(faster.by);
      lists.every.value = String(faster.every);
      lists.to.value = String(faster.to);
    },
  };
}
