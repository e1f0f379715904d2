// How the strings of the drone on its own are tuned: as in the piece, or with another first string.

import { data, soundShift } from "./data.js";

/**
 * `second` is the tone of the first string, "" for that of the piece; `pace` 2 plucks twice as fast.
 * @typedef {{drone: boolean, shift: number, cents?: number, droneTone?: string, dronePace?: number}} DroneSettings
 */

/**
 * A string: `key` tells it from the others, `name` is its sound, `cents` how far that is moved.
 * @typedef {{key: string, name: string, cents: number}} DroneString
 */

/**
 * The strings in the order of plucking.
 * @param {DroneSettings} settings
 * @returns {DroneString[]}
 */
export function droneStrings({ droneTone = "" }) {
  const strings = data.drone.map(([, name]) => ({ key: name, name, cents: 0 }));
  const tone = data.drone_tones.find(([letter]) => letter === droneTone);
  if (!tone || !strings.length) return strings;
  strings[0] = stringAt(tone[1]);
  return strings;
}

/**
 * The string that is tuned to a pitch with the least change.
 * @param {number} cents above middle Sa
 */
function stringAt(cents) {
  const distance = (/** @type {[number, string]} */ [own]) => Math.abs(own - cents);
  const [own, name] = data.drone.reduce((best, one) => (distance(one) < distance(best) ? one : best));
  const change = cents - own;
  return { key: change ? `${name} ${change}` : name, name, cents: change };
}

/**
 * The speed at which the sound of a string is played.
 * @param {DroneSettings} settings
 * @param {number} cents
 */
export function stringRate(settings, cents) {
  return 2 ** (soundShift(settings) / 12 + cents / 1200);
}
