// The harmonic tables of the voices as waves for oscillators, and the envelope of a note.

import { gainOf } from "./data.js";

/** @typedef {import("./schema.js").Voice} Voice */
/** @typedef {import("./schema.js").Zone} Zone */

const REFERENCE_HZ = 261.63;
const USUAL_VELOCITY = 86;
const USUAL_RMS = 0.1;
const FLOOR = 3e-5;
// Seconds in which a tone that is joined takes over from the one before.
const JOIN = 0.03;
const IS_JOINED = 1;
const LEADS_ON = 2;
// How much of the change of single partials the change of brightness stands for.
const PARTIALS_AS_BRIGHT = 0.6;
// A wave costs time and memory: one for every third semitone and for some steps of brightness.
const SEMITONES_APART = 3;
const BRIGHTNESS_STEPS = 8;
const MOST_WAVES = 72;

/**
 * 1 or -1: which partials are turned over (Rudin-Shapiro), as in the tables themselves.
 * @param {number} partial
 */
function signOf(partial) {
  const at = partial - 1;
  let pairs = at & (at >> 1);
  let odd = 0;
  for (; pairs; pairs &= pairs - 1) odd ^= 1;
  return odd ? -1 : 1;
}

/**
 * Amplitudes of sines, partial 1 first, of RMS 1, between the zones around a pitch.
 * @param {Voice} voice
 * @param {number} hz
 * @param {number} bright
 * @param {number} top the highest frequency of a partial
 */
function partialsOf(voice, hz, bright, top) {
  const { zones } = voice;
  let above = zones.findIndex((zone) => zone.hz >= hz);
  if (above < 0) above = zones.length - 1;
  const upper = zones[above];
  const lower = zones[Math.max(0, above - 1)];
  const part =
    upper === lower
      ? 0
      : Math.min(1, Math.max(0, Math.log(hz / lower.hz) / Math.log(upper.hz / lower.hz)));
  const at = Math.min(1, Math.max(0, bright)) * (upper.levels.length - 1);
  const row = Math.min(Math.floor(at), Math.max(0, upper.levels.length - 2));
  const logOf = (/** @type {Zone} */ zone, /** @type {number} */ level, /** @type {number} */ index) =>
    Math.log(Math.max(FLOOR, Math.abs(zone.levels[Math.min(level, zone.levels.length - 1)][index] || 0)));
  const count = Math.min(
    Math.max(upper.levels[0].length, lower.levels[0].length),
    Math.max(1, Math.floor(top / hz)),
  );
  const amplitudes = new Float32Array(count);
  let power = 0;
  for (let index = 0; index < count; index += 1) {
    const [soft, loud] = [row, row + 1].map(
      (level) => logOf(lower, level, index) * (1 - part) + logOf(upper, level, index) * part,
    );
    let amplitude = Math.exp(soft + (at - row) * (loud - soft));
    if (amplitude <= FLOOR * 1.0001) amplitude = 0;
    power += amplitude * amplitude;
    amplitudes[index] = amplitude * signOf(index + 1);
  }
  const scale = Math.sqrt(2 / power);
  return amplitudes.map((amplitude) => amplitude * scale);
}

/** The oscillators' waves of one audio context, each computed when it is first needed. */
export class Waves {
  /**
   * @param {BaseAudioContext} context
   * @param {Record<string, Voice>} voices
   */
  constructor(context, voices) {
    this.context = context;
    this.voices = voices;
    /** @type {Map<string, PeriodicWave>} the least recently used first */
    this.cache = new Map();
  }

  /**
   * @param {string} name
   * @param {number} hz
   * @param {number} bright
   */
  at(name, hz, bright) {
    const step = Math.round((12 * Math.log2(hz / REFERENCE_HZ)) / SEMITONES_APART);
    const level = Math.round(Math.min(1, Math.max(0, bright)) * BRIGHTNESS_STEPS);
    const key = `${name} ${step} ${level}`;
    let wave = this.cache.get(key);
    if (wave) this.cache.delete(key);
    else {
      const rounded = REFERENCE_HZ * 2 ** ((step * SEMITONES_APART) / 12);
      wave = this.compute(name, rounded, level / BRIGHTNESS_STEPS);
    }
    this.cache.set(key, wave);
    if (this.cache.size > MOST_WAVES) {
      const [oldest] = this.cache.keys();
      this.cache.delete(oldest);
    }
    return wave;
  }

  /**
   * @param {string} name
   * @param {number} hz
   * @param {number} bright
   */
  compute(name, hz, bright) {
    const partials = partialsOf(this.voices[name], hz, bright, 0.45 * this.context.sampleRate);
    const sines = new Float32Array(partials.length + 1);
    sines.set(partials, 1);
    const options = { real: new Float32Array(sines.length), imag: sines, disableNormalization: true };
    return new PeriodicWave(this.context, options);
  }
}

/**
 * Slow random change about 0 with an RMS of 1, the same for the same seed.
 * @param {number} seed
 * @param {number} seconds
 * @param {number} rate
 */
function wander(seed, seconds, rate) {
  let sum = 0;
  for (let at = 1; at <= 3; at += 1) {
    const number = Math.abs(Math.sin(seed * 12.9898 * at + at) * 43758.5453) % 1;
    sum += Math.sin(2 * Math.PI * (rate * (0.4 + 1.2 * ((number * 7.31) % 1)) * seconds + number));
  }
  return Math.sqrt(2 / 3) * sum;
}

/** The level and brightness of a note over time, in seconds from the note's own beginning. */
export class Envelope {
  /**
   * @param {Voice} voice
   * @param {number} hz
   * @param {number} velocity
   * @param {number} length
   * @param {number} [joins] as in `ToneEvent`
   * @param {number} [moment] when it sounds: no two notes change alike
   */
  constructor(voice, hz, velocity, length, joins = 0, moment = 0) {
    this.voice = voice;
    this.seed = hz + velocity * 0.37 + moment * 1.93;
    this.isJoined = Boolean(joins & IS_JOINED);
    this.leadsOn = Boolean(joins & LEADS_ON);
    this.release = this.leadsOn ? JOIN : voice.release;
    this.length = length;
    this.gain = USUAL_RMS * voice.gain * (velocity / USUAL_VELOCITY) ** 1.5;
    this.fade = voice.fade * (hz / REFERENCE_HZ) ** voice.fade_by_pitch;
    this.attack = Math.max(0.001, Math.min(this.isJoined ? JOIN : voice.attack, length / 2));
    this.bright = voice.soft + ((voice.loud - voice.soft) * (velocity - 1)) / 126;
    this.dull = this.bright * voice.keeps * (1 - voice.bloom);
  }

  /** The brightnesses of its waves: the bright and the dull one, or one for both. */
  get brights() {
    if (this.bright - this.dull > 0.5 / BRIGHTNESS_STEPS) return [this.bright, this.dull];
    return [(this.bright + this.dull) / 2];
  }

  /**
   * The level without attack and release.
   * @param {number} seconds
   */
  level(seconds) {
    const { sustain, decay } = this.voice;
    const level = sustain + (1 - sustain) * Math.exp(-seconds / decay);
    const { level: depth, rate } = this.voice.drift;
    const change = depth && depth * wander(this.seed, seconds, rate);
    return this.gain * level * gainOf(change - this.fade * seconds);
  }

  /**
   * Attack and release, 0 to 1.
   * @param {number} into seconds since it began to sound: a note may be joined on its way
   */
  gate(into) {
    const rise = Math.sin((Math.PI / 2) * Math.min(1, into / this.attack));
    const released = Math.min(1, Math.max(0, (into - this.length) / this.release));
    // What falls while the next tone rises makes one power with it.
    if (this.leadsOn) return rise * Math.cos((Math.PI / 2) * released);
    return rise * (0.5 + 0.5 * Math.cos(Math.PI * released));
  }

  /**
   * The part of the bright wave beside the dull one, 0 to 1.
   * @param {number} seconds
   * @param {number} into as in `gate`
   */
  weight(seconds, into) {
    const { keeps, dulls, bloom } = this.voice;
    if (this.bright - this.dull < 1e-6) return 1;
    let bright = this.bright * (keeps + (1 - keeps) * Math.exp(-seconds / dulls));
    const isOpen = (this.isJoined && into < this.attack) || (this.leadsOn && into > this.length);
    if (!isOpen) bright *= 1 - bloom * (1 - this.gate(into));
    const { bright: depth, partials, rate } = this.voice.drift;
    bright += (depth + PARTIALS_AS_BRIGHT * partials * bright) * wander(this.seed + 0.5, seconds, rate);
    return (bright - this.dull) / (this.bright - this.dull);
  }

  /** The seconds at which level and brightness are set: close together where they change fast. */
  points() {
    const found = [];
    for (let part = 0; part <= 6; part += 1) found.push((this.attack * part) / 6);
    let step = 0.008;
    for (let at = this.attack + step; at < this.length; at += step) {
      found.push(at);
      step = Math.min(0.2, step * 1.3);
    }
    for (let part = 0; part <= 8; part += 1) found.push(this.length + (this.release * part) / 8);
    return found;
  }
}
