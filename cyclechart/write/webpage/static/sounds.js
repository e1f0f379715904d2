// Strokes and plucks: decoded before the first tap, so that nothing has to wait for them.

import { bytesOf, data } from "./data.js";

export const RATE = 44100;

/**
 * Pseudo-random numbers from -1 to 1, the same for the same seed.
 * @param {number} seed
 */
export function randomNumbers(seed) {
  let state = seed >>> 0;
  return () => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return state / 2147483648 - 1;
  };
}

/**
 * Samples through a band-pass: two second-order filters at either end.
 * @param {Float32Array} samples
 * @param {number} low Hz
 * @param {number} high Hz
 */
function bandPass(samples, low, high) {
  const filtered = Float32Array.from(samples);
  const corners = [
    { hz: low, isHighPass: true },
    { hz: low, isHighPass: true },
    { hz: high, isHighPass: false },
    { hz: high, isHighPass: false },
  ];
  for (const { hz, isHighPass } of corners) {
    const along = Math.tan((Math.PI * Math.min(hz, 0.45 * RATE)) / RATE);
    const scale = 1 / (1 + Math.SQRT2 * along + along * along);
    const back1 = 2 * (along * along - 1) * scale;
    const back2 = (1 - Math.SQRT2 * along + along * along) * scale;
    const front = isHighPass ? scale : along * along * scale;
    const middle = isHighPass ? -2 * front : 2 * front;
    let [x1, x2, y1, y2] = [0, 0, 0, 0];
    for (let at = 0; at < filtered.length; at += 1) {
      const x = filtered[at];
      const y = front * (x + x2) + middle * x1 - back1 * y1 - back2 * y2;
      [x2, x1, y2, y1] = [x1, x, y1, y];
      filtered[at] = y;
    }
  }
  return filtered;
}

/** @param {Float32Array<ArrayBuffer>} samples */
function bufferOf(samples) {
  const buffer = new AudioBuffer({ length: samples.length, sampleRate: RATE, numberOfChannels: 1 });
  buffer.copyToChannel(samples, 0);
  return buffer;
}

/**
 * Hands that count: a clap, the softer brush of a wave, a fingertip between.
 * @param {string} sign
 */
function handSound(sign) {
  const [seconds, low, high, fall, peak] =
    sign === "0" ? [0.16, 2500, 7000, 0.035, 0.22]
    : sign === "" ? [0.05, 1800, 4000, 0.006, 0.16]
    : [0.12, 900, 3200, 0.014, sign === "X" ? 0.6 : 0.45];
  const next = randomNumbers(sign === "0" ? 5 : 9);
  const noise = Float32Array.from({ length: Math.round(seconds * RATE) }, next);
  const band = bandPass(noise, low, high);
  let most = 0;
  band.forEach((value, at) => {
    const time = at / RATE;
    // A wave of the hand has no edge: it swells before it dies.
    const rise = sign === "0" ? Math.min(1, time / 0.012) : Math.min(1, time / 0.0005);
    const over = Math.min(1, (seconds - time) / 0.01);
    band[at] = value * rise * over * Math.exp(-time / fall);
    most = Math.max(most, Math.abs(band[at]));
  });
  return bufferOf(band.map((value) => (value * peak) / most));
}

/** Let the browser draw and answer before the next piece of work. */
function nextTask() {
  return new Promise((resolve) => {
    setTimeout(resolve, 0);
  });
}

/** The recorded sounds of the page and those it computes. They fit any audio context. */
export const sounds = {
  /** @type {Map<string, AudioBuffer | null>} null: this browser cannot decode it */
  opened: new Map(),
  /** @type {Map<string, Promise<void>>} */
  opening: new Map(),
  /** @type {Map<string, AudioBuffer>} by wave */
  noises: new Map(),
  /** @type {Map<string, AudioBuffer>} by sign */
  claps: new Map(),
  /** @type {OfflineAudioContext | null} */
  decoder: null,

  /**
   * The buffer of a name: null where it cannot be decoded, undefined until it is.
   * @param {string} name
   */
  get(name) {
    return this.opened.get(name);
  },

  /**
   * The name of one of the plucks of a string: they are taken in turn, as far as they are decoded.
   * @param {string} name that of the first
   * @param {number} number
   */
  touch(name, number) {
    const names = (data.sounds[name].touches ?? []).filter((one) => this.opened.get(one));
    return names.length ? names[number % names.length] : name;
  },

  /** @param {string} name */
  open(name) {
    const known = this.opening.get(name);
    if (known) return known;
    this.decoder ??= new OfflineAudioContext(1, 1, RATE);
    const coded = name === "room" ? data.room : data.sounds[name].flac;
    const opening = this.decoder.decodeAudioData(bytesOf(coded).buffer).then(
      (buffer) => void this.opened.set(name, buffer),
      () => void this.opened.set(name, null),
    );
    this.opening.set(name, opening);
    return opening;
  },

  /** Open everything, what comes first in the piece first. */
  async openAll() {
    /** @type {Map<string, number>} when each is first needed */
    const firsts = new Map();
    data.drone.forEach(([, name], at) => firsts.set(name, at * 0.01));
    // The further plucks of its strings are for the second round.
    for (const [, name] of data.drone) {
      for (const touch of data.sounds[name].touches ?? []) if (!firsts.has(touch)) firsts.set(touch, 4);
    }
    for (const voice of data.voices) {
      for (const [start, sound] of voice.strokes) {
        const name = voice.sounds[sound];
        firsts.set(name, Math.min(start, firsts.get(name) ?? Infinity));
      }
    }
    const names = [...firsts].sort(([, a], [, b]) => a - b).map(([name]) => name);
    if (data.room) names.splice(6, 0, "room");
    for (const name of names.splice(0, 4)) await this.open(name);
    for (const wave of Object.keys(data.waves)) {
      this.noise(wave);
      await nextTask();
    }
    for (const name of names) {
      await this.open(name);
      await nextTask();
    }
  },

  /** @param {string} sign */
  clap(sign) {
    const kind = ["X", "0", ""].includes(sign) ? sign : "2";
    let clap = this.claps.get(kind);
    if (!clap) {
      clap = handSound(kind);
      this.claps.set(kind, clap);
    }
    return clap;
  },

  /**
   * Noise in the band of a wave, of RMS 1.
   * @param {string} wave
   */
  noise(wave) {
    let noise = this.noises.get(wave);
    if (!noise) {
      const { low, high } = data.waves[wave].noise;
      const next = randomNumbers(7);
      const samples = bandPass(Float32Array.from({ length: 2 * RATE }, next), low, high);
      const power = samples.reduce((sum, value) => sum + value * value, 0) / samples.length;
      noise = bufferOf(samples.map((value) => value / Math.sqrt(power)));
      this.noises.set(wave, noise);
    }
    return noise;
  },
};
