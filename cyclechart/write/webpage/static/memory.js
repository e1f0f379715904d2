// What the page remembers of a piece on this device: every setting, as far as the piece still has what
// it is about.

import { data } from "./data.js";
import { asMapping, readStoredData, removeStored, writeStored } from "./device_storage.js";
import { settings } from "./settings.js";
import { TOLERANCE, turnEnd, turnStart } from "./turns.js";

/** @typedef {import("./settings.js").Settings} Settings */

/**
 * Settings as they are kept: `voices` are (name, level, muted), `turns` how many the piece had.
 * @typedef {{settings: Settings, voices: [name: string, level: number, muted: boolean][], turns: number}} SavedSettings
 */

// Milliseconds after a change until it is kept.
const KEEP_PAUSE = 400;

/** @type {Record<string, [least: number, most: number]>} */
const LIMITS = {
  level: [-48, 0],
  factor: [0.4, 1.4],
  shift: [-5, 6],
  cents: [-100, 100],
  size: [0.6, 2.2],
  sing: [0, 9999],
  droneLevel: [-30, 12],
  dronePace: [0.5, 2],
  "faster.from": [40, 140],
  "faster.by": [1, 50],
  "faster.every": [1, 32],
  "faster.to": [40, 140],
};
const WHOLE = new Set(["level", "shift", "cents", "sing", "droneLevel"]);
// These are not taken over as they are: they name what the piece may have no longer.
const OF_THE_PIECE = new Set(["levels", "muted", "stretch", "loop", "span", "part"]);
/** @type {Record<string, string[]>} */
const CHOICES = { who: ["all", "without", "only"], countLength: ["section", "cycle"] };

const MEMORY_NAME = `cyclechart page ${JSON.stringify([data.title, data.composer])}`;
/** @type {Settings} */
const asWritten = structuredClone(settings);

/** @returns {SavedSettings} */
export function settingsToSave() {
  return {
    settings: structuredClone(settings),
    voices: data.voices.map(({ name }, at) => [name, settings.levels[at], settings.muted[at]]),
    turns: data.turns.length,
  };
}

/**
 * A kept value for a setting, if it can be one; else the value that the setting has.
 * @param {string} name
 * @param {unknown} value
 * @param {unknown} own
 * @returns {unknown}
 */
function fitting(name, value, own) {
  if (typeof own === "object" && own !== null && !Array.isArray(own)) {
    const given = asMapping(value);
    return Object.fromEntries(
      Object.entries(own).map(([key, part]) => [key, fitting(`${name}.${key}`, given[key], part)]),
    );
  }
  if (typeof value !== typeof own || (typeof value === "object" && value !== null)) return own;
  if (typeof value === "string" && name in CHOICES) return CHOICES[name].includes(value) ? value : own;
  if (typeof value !== "number") return value;
  if (!Number.isFinite(value)) return own;
  const [least, most] = LIMITS[name] ?? [-Infinity, Infinity];
  const within = Math.min(most, Math.max(least, value));
  return WHOLE.has(name) ? Math.round(within) : within;
}

/**
 * Whether a value is the number of one of so many things.
 * @param {unknown} value
 * @returns {value is number}
 */
function isIndex(value) {
  return typeof value === "number" && Number.isInteger(value) && value >= 0;
}

/**
 * The loop as it was: one to the end goes to the new end, one that the piece no longer has is cut.
 * @param {Record<string, unknown>} saved
 * @param {unknown} turns how many there were
 */
function restoreStretch(saved, turns) {
  const { stretch, loop } = saved;
  const last = data.turns.length - 1;
  if (!Array.isArray(stretch) || last < 0) return;
  const [first, end] = /** @type {unknown[]} */ (stretch);
  if (!isIndex(first) || !isIndex(end) || first > end) return;
  const isWhole = first === 0 && end === Number(turns) - 1;
  // A loop of what is gone altogether would be one of something else.
  const isGone = !isWhole && first > last;
  settings.stretch = isWhole || isGone ? [0, last] : [first, Math.min(end, last)];
  settings.loop = Array.isArray(loop) && !isGone ? [...settings.stretch] : null;
  const isAsItWas = !isWhole && end <= last;
  settings.span = isAsItWas ? spanWithin(settings.stretch, saved.span) : null;
}

/**
 * A kept beginning and end of a loop, if they still lie in its first and its last turn; else null.
 * @param {[number, number]} stretch
 * @param {unknown} span
 * @returns {[number, number] | null}
 */
function spanWithin([first, last], span) {
  if (!Array.isArray(span)) return null;
  const [from, to] = /** @type {unknown[]} */ (span);
  if (typeof from !== "number" || typeof to !== "number" || !(to - from > TOLERANCE)) return null;
  const isIn = (/** @type {number} */ time, /** @type {number} */ turn) =>
    time >= turnStart(data.turns[turn]) - TOLERANCE && time <= turnEnd(data.turns[turn]) + TOLERANCE;
  return isIn(from, first) && isIn(to, last) ? [from, to] : null;
}

/** @param {unknown} voices */
function restoreVoices(voices) {
  if (!Array.isArray(voices)) return;
  for (const voice of /** @type {unknown[]} */ (voices)) {
    if (!Array.isArray(voice)) continue;
    const [name, level, muted] = /** @type {unknown[]} */ (voice);
    const at = data.voices.findIndex((one) => one.name === name);
    if (at < 0) continue;
    if (typeof level === "number" && level >= -30 && level <= 12) settings.levels[at] = level;
    if (typeof muted === "boolean") settings.muted[at] = muted;
  }
}

/**
 * Take over settings that were saved; what this page does not know stays as it is.
 * @param {unknown} saved
 */
export function restoreSettings(saved) {
  const { settings: given, voices, turns } = asMapping(saved);
  const kept = asMapping(given);
  for (const [name, own] of Object.entries(settings)) {
    if (OF_THE_PIECE.has(name) || !(name in kept)) continue;
    Object.assign(settings, { [name]: fitting(name, kept[name], own) });
  }
  restoreStretch(kept, turns);
  restoreVoices(voices);
  const players = Object.keys(data.parts["0"] ?? {});
  const names = players.length ? players : data.voices.map((voice) => voice.name);
  if (typeof kept.part === "string" && names.includes(kept.part)) settings.part = kept.part;
}

/** Keeps the settings of the piece. */
export class Memory {
  constructor() {
    this.timer = 0;
    this.last = "";
    addEventListener("pagehide", () => this.keep());
    document.addEventListener("visibilitychange", () => {
      if (document.hidden) this.keep();
    });
  }

  /** Take over what is remembered of the piece. */
  recall() {
    restoreSettings(readStoredData(MEMORY_NAME));
    this.last = JSON.stringify(settingsToSave());
  }

  /** The settings may have changed. */
  touch() {
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.keep(), KEEP_PAUSE);
  }

  keep() {
    clearTimeout(this.timer);
    const text = JSON.stringify(settingsToSave());
    if (text === this.last) return;
    this.last = text;
    writeStored(MEMORY_NAME, text);
  }

  /** All settings as in the piece; nothing is remembered of it. */
  reset() {
    const { part } = settings;
    Object.assign(settings, structuredClone(asWritten), { part });
    this.last = JSON.stringify(settingsToSave());
    removeStored(MEMORY_NAME);
  }
}
