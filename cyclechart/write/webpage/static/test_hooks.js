// For tests, which hold the page to its times and pitches: nothing here is used by the page itself.

import { data, soundShift } from "./data.js";
import { DroneAlone } from "./drone.js";
import { actions, partView, player } from "./main.js";
import { Schedule } from "./schedule.js";
import { settings } from "./settings.js";
import { RATE, sounds } from "./sounds.js";
import { Studio, Take } from "./studio.js";
import { turnAt } from "./turns.js";

/** @typedef {import("./stretches.js").PlayOptions} PlayOptions */

/** @type {PlayOptions} */
const PLAIN = { factor: 1, loop: null, sing: 0, count: false };

/**
 * All events of a schedule up to a time.
 * @param {number} position
 * @param {Partial<PlayOptions>} options
 * @param {number} until
 */
function schedule(position, options, until) {
  return new Schedule(data, position, { ...PLAIN, ...options }).until(until);
}

/**
 * The page's own sound, rendered faster than it sounds: samples of both sides.
 * @param {number} seconds
 * @param {object} [options]
 * @param {number} [options.position]
 * @param {Partial<PlayOptions>} [options.play]
 * @param {number} [options.shift]
 * @param {number} [options.cents]
 * @param {number} [options.dronePace]
 * @param {string} [options.droneTone]
 * @param {boolean} [options.drone] the drone on its own
 * @param {boolean} [options.room]
 * @param {number} [options.late] seconds after which the piece is handed over
 * @param {boolean[]} [options.muted]
 */
async function renderOffline(seconds, options = {}) {
  const { position = 0, play = {}, shift = 0, cents = 0 } = options;
  const { drone = false, room = true, late = 0 } = options;
  const context = new OfflineAudioContext(2, Math.round(seconds * RATE), RATE);
  await Promise.all(Object.keys(data.sounds).map((name) => sounds.open(name)));
  await sounds.open("room");
  const studio = new Studio(context, { ...settings, level: 0, ...options });
  await studio.roomReady;
  if (!room) studio.room.gain.value = 0;
  if (drone) {
    const alone = new DroneAlone(studio, { ...options, drone, shift }, () => false);
    alone.update();
    alone.pump(seconds);
  } else {
    const take = new Take(studio, 0, soundShift({ shift, cents }));
    for (const event of schedule(position, play, seconds)) take.add(event, late);
  }
  const rendered = await context.startRendering();
  return [rendered.getChannelData(0), rendered.getChannelData(1)];
}

export const hooks = {
  data, settings, player, act: actions, partView, schedule, renderOffline, turnAt, sounds,
};
Object.assign(window, { __page: hooks });
