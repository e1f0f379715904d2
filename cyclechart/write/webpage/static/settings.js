// What the player of the page has chosen.

import { data } from "./data.js";

/**
 * `level` and `levels` (by voice) in dB; `factor` 2 is twice as fast; `shift` is the semitones that Sa
 * is moved; `stretch` is the first and last turn of the loop, which goes round while `loop` is set;
 * `loudspeaker`: the balance is that for a small loudspeaker;
 * `span` is where it begins and ends where that is within those turns; with `faster.on` it begins at
 * `from` per cent and gets faster by `by` after every so many rounds, up to `to`; `sing` is the number
 * of cycles sung back at a time, 0 for never; `part` is whose part is shown, `size` how large, `who` who
 * is heard; `cents` moves all sounds; of the drone on its own, `droneLevel` is in dB (for a piece that
 * has none of its own), `dronePace` 2 is twice as fast, `droneTone` is its first string, "" for that of
 * the piece.
 * @typedef {object} Settings
 * @property {number} level
 * @property {boolean} loudspeaker
 * @property {number} factor
 * @property {number} shift
 * @property {number} cents
 * @property {number} size
 * @property {number} droneLevel
 * @property {number} dronePace
 * @property {string} droneTone
 * @property {[number, number] | null} loop
 * @property {[number, number]} stretch
 * @property {[number, number] | null} span
 * @property {{on: boolean, from: number, by: number, every: number, to: number}} faster
 * @property {number} sing
 * @property {boolean} count
 * @property {import("./turns.js").CountLength} countLength
 * @property {boolean} drone
 * @property {boolean} keys
 * @property {string} part
 * @property {import("./who_plays.js").Who} who
 * @property {number[]} levels
 * @property {boolean[]} muted
 */

/** @type {Settings} */
export const settings = {
  level: -12,
  loudspeaker: false,
  factor: 1,
  shift: 0,
  cents: 0,
  size: 1,
  droneLevel: 0,
  dronePace: 1,
  droneTone: "",
  loop: null,
  stretch: [0, Math.max(0, data.turns.length - 1)],
  span: null,
  faster: { on: false, from: 60, by: 5, every: 4, to: 100 },
  sing: 0,
  count: true,
  countLength: "section",
  drone: false,
  keys: true,
  part: "",
  who: "all",
  levels: data.voices.map(() => 0),
  muted: data.voices.map(() => false),
};
