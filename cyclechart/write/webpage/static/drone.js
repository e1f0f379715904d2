// The drone without the piece: its strings in turn.

import { data, gainOf, soundShift } from "./data.js";
import { droneStrings, stringRate } from "./drone_tuning.js";
import { randomNumbers, sounds } from "./sounds.js";
import { damp, soundBuffer } from "./studio.js";

/** @typedef {import("./studio.js").Studio} Studio */
/** @typedef {import("./studio.js").Stroke} Stroke */
/** @typedef {import("./drone_tuning.js").DroneSettings} DroneSettings */
/** @typedef {import("./drone_tuning.js").DroneString} DroneString */

// Seconds that a sound is handed over before it is due.
export const AHEAD = 0.25;
// Seconds from a tap to the first sound, so that it is not late.
export const LEAD = 0.05;
// Seconds before a string is tried again whose sound is not decoded yet.
const RETRY = 0.02;
// Seconds of a round of the strings, of which there are at least four for this.
const ROUND = 4.2;
// Seconds that a pluck is early or late at most, and dB that it is softer or louder.
const LATEST_PLUCK = 0.06;
const MOST_LOUDER = 1.8;

/** The strings of the drone in turn, as long as the piece's own drone does not play. */
export class DroneAlone {
  /**
   * @param {Studio} studio
   * @param {DroneSettings} settings
   * @param {() => boolean} pieceHasDrone whether the piece plays and has a drone of its own
   */
  constructor(studio, settings, pieceHasDrone) {
    this.studio = studio;
    this.settings = settings;
    this.pieceHasDrone = pieceHasDrone;
    this.on = false;
    this.next = 0;
    // The time of the next pluck on an even pulse, and beside it, as by a hand.
    this.even = 0;
    this.at = 0;
    this.hand = randomNumbers(17);
    /** @type {{string: DroneString, stroke: Stroke}[]} */
    this.ringing = [];
  }

  /** Seconds from string to string. */
  get interval() {
    return ROUND / Math.max(4, data.drone.length) / (this.settings.dronePace ?? 1);
  }

  get isWanted() {
    return this.settings.drone && data.drone.length > 0 && !this.pieceHasDrone();
  }

  /** Start or stop by the settings and by what the piece plays. */
  update() {
    const { context } = this.studio;
    if (this.isWanted === this.on) return;
    this.on = this.isWanted;
    if (this.on) {
      this.next = 0;
      this.at = context.currentTime + (context instanceof OfflineAudioContext ? 0 : LEAD);
      this.even = this.at;
      this.pump(context.currentTime + AHEAD);
    } else {
      for (const { stroke } of this.ringing) damp(stroke, context.currentTime);
      this.ringing = [];
    }
  }

  /**
   * Hand over the plucks before an audio time.
   * @param {number} until
   */
  pump(until) {
    if (!this.on) return;
    const late = this.studio.context.currentTime - this.at;
    if (late > 0) {
      this.at += late;
      this.even += late;
    }
    while (this.at < until) {
      const strings = droneStrings(this.settings);
      const string = strings[this.next % strings.length];
      const buffer = sounds.get(sounds.touch(string.name, Math.floor(this.next / strings.length)));
      if (buffer === undefined) {
        void sounds.open(string.name);
        this.at += RETRY;
        this.even += RETRY;
        continue;
      }
      this.pluck(string, buffer);
      this.next += 1;
      // Whole periods of the middle Sa apart, so that a string plucked again stays one tone.
      const hertz = data.hertz * 2 ** (soundShift(this.settings) / 12 - 2);
      this.even += this.interval;
      this.at = Math.round((this.even + LATEST_PLUCK * this.hand()) * hertz) / hertz;
    }
  }

  /**
   * @param {DroneString} string
   * @param {AudioBuffer | null} buffer
   */
  pluck(string, buffer) {
    const before = this.ringing.find((one) => one.string.key === string.key);
    if (before) damp(before.stroke, this.at);
    this.ringing = this.ringing.filter((one) => one !== before);
    if (!buffer) return;
    const rate = stringRate(this.settings, string.cents);
    const gain = gainOf(MOST_LOUDER * this.hand());
    const stroke = soundBuffer(this.studio.drone.input, this.at, buffer, { gain, rate, moves: true });
    this.ringing.push({ string, stroke });
  }

  /** Move the ringing strings with Sa. */
  retune() {
    const now = this.studio.context.currentTime;
    for (const { string, stroke } of this.ringing) {
      const rate = stringRate(this.settings, string.cents);
      stroke.source.playbackRate.setTargetAtTime(rate, now, 0.008);
    }
  }
}
