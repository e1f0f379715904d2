// The words for cycles, beats, turns and sections.

import { data } from "./data.js";

/** @typedef {import("./schema.js").CycleKind} CycleKind */
/** @typedef {import("./schema.js").Section} Section */
/** @typedef {import("./schema.js").Turn} Turn */

/** @type {Record<string, string>} */
const FRACTIONS = {
  "1/2": "½", "1/3": "⅓", "2/3": "⅔", "1/4": "¼", "3/4": "¾",
  "1/8": "⅛", "3/8": "⅜", "5/8": "⅝", "7/8": "⅞",
};

/**
 * A beat's sign beside the large count.
 * @param {string} sign
 */
export function signWords(sign) {
  if (sign === "X") return "X sam";
  if (sign === "0") return "0 wave";
  return sign && `${sign} clap`;
}

/**
 * A cycle in one sentence, for screen readers.
 * @param {CycleKind} cycle
 */
export function cycleWords(cycle) {
  const signs = cycle.beats.filter((beat) => beat.sign).map((beat) => {
    const gesture = beat.sign === "X" ? "sam" : beat.sign === "0" ? "wave" : `clap ${beat.sign}`;
    return `${gesture} on ${beat.name}`;
  });
  const last = cycle.beats.at(-1);
  const half = last && last.length < 1 ? ", the last one short" : "";
  return `${cycle.name}: ${cycle.beats.length} beats${half}; ${signs.join(", ")}`;
}

/** @param {Turn} turn */
export function turnWords(turn) {
  if (turn.kind === "count-in") return "Count-in";
  if (turn.kind === "lead-in") return "Lead-in";
  if (turn.kind === "free") return "Free, no cycle is counted";
  return turn.number ? `Cycle ${turn.number}` : "Cycle";
}

/** @param {Section | undefined} section */
export function sectionWords(section) {
  if (!section) return "";
  return [section.letter, section.name].filter(Boolean).join("  ");
}

/**
 * The letter of Sa as it sounds in a section, or at the beginning, moved by so many semitones.
 * @param {Section | undefined} section
 * @param {number} shift
 */
export function saIn(section, shift) {
  const { key, sa } = section ?? data;
  return shift ? data.names[(((key + shift) % 12) + 12) % 12] : sa;
}

/**
 * Whether the piece has more than one Sa or mode.
 * @param {"key" | "mode"} property
 */
export function differs(property) {
  return new Set(data.sections.map((section) => section[property])).size > 1;
}

/**
 * A beat's name as it fits into its cell: 10½ for 10 1/2.
 * @param {string} name
 */
export function cellName(name) {
  const [whole, fraction] = name.split(" ");
  return fraction ? whole + (FRACTIONS[fraction] || `\u202f${fraction}`) : name;
}
