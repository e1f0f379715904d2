// One note as nodes of an audio context.

import { data, gainOf } from "./data.js";
import { sounds } from "./sounds.js";
import { Envelope } from "./waves.js";

/** @typedef {import("./schema.js").Curve} Curve */
/** @typedef {import("./schema.js").Tremor} Tremor */
/** @typedef {import("./waves.js").Waves} Waves */

/**
 * A note to sound: `skip` is how many of its seconds have passed before, `factor` the tempo by which
 * its curve is read.
 * @typedef {object} Note
 * @property {string} wave
 * @property {number} hz
 * @property {number} velocity
 * @property {number} length
 * @property {number} skip
 * @property {Curve} curve
 * @property {number} factor
 * @property {number} [joins] as in `ToneEvent`
 */

/** @typedef {{context: BaseAudioContext, waves: Waves}} Synthesizer */

// Shorter notes have no tremor.
const LEAST_TREMOR_SECONDS = 0.6;

/**
 * Set a parameter at points in straight lines.
 * @param {AudioParam} param
 * @param {number} when
 * @param {number[]} points seconds after `when`
 * @param {(into: number) => number} valueAt
 */
function setRamps(param, when, points, valueAt) {
  param.setValueAtTime(valueAt(0), when);
  for (const at of points) if (at > 0) param.linearRampToValueAtTime(valueAt(at), when + at);
}

/**
 * Set a glide in cents, in straight lines, from `skip` seconds into it.
 * @param {AudioParam} param
 * @param {number} when
 * @param {Note} note
 */
function setGlide(param, when, { curve, skip, factor }) {
  if (!curve.length) return;
  const points = curve.map(([at, cents]) => ({ time: at / factor - skip, cents }));
  if (points[0].time > -skip) points.unshift({ time: -skip, cents: 0 });
  let begin = points[0].cents;
  points.forEach(({ time, cents }, at) => {
    if (time > 0) return;
    begin = cents;
    if (at + 1 === points.length) return;
    const next = points[at + 1];
    if (next.time > 0) begin += ((next.cents - cents) * -time) / (next.time - time);
  });
  param.setValueAtTime(begin, when);
  for (const { time, cents } of points) if (time > 0) param.linearRampToValueAtTime(cents, when + time);
}

/**
 * Sound a note into `out` at an audio time. Return its sources, to be stopped.
 * @param {Synthesizer} synthesizer
 * @param {AudioNode} out
 * @param {number} when
 * @param {Note} note
 */
export function soundTone({ context, waves }, out, when, note) {
  const voice = data.waves[note.wave];
  const shape = new Envelope(voice, note.hz, note.velocity, note.length, note.joins, when);
  const ends = when + note.length + shape.release + 0.005;
  const envelope = new GainNode(context, { gain: 0 });
  const points = shape.points();
  setRamps(envelope.gain, when, points, (into) => shape.level(into + note.skip) * shape.gate(into));
  /** @type {AudioScheduledSourceNode[]} */
  const sources = [];
  /** @type {(bright: number, to: AudioNode) => void} */
  const addOscillator = (bright, to) => {
    const periodicWave = waves.at(note.wave, note.hz, bright);
    const oscillator = new OscillatorNode(context, { type: "custom", frequency: note.hz, periodicWave });
    setGlide(oscillator.detune, when, note);
    oscillator.connect(to);
    sources.push(oscillator);
  };
  // Two waves of one phase, faded into each other, are the one tone growing duller.
  if (shape.brights.length > 1) {
    const weight = (/** @type {number} */ into) => shape.weight(into + note.skip, into);
    const bright = new GainNode(context, { gain: 0 });
    const dull = new GainNode(context, { gain: 0 });
    setRamps(bright.gain, when, points, weight);
    setRamps(dull.gain, when, points, (into) => 1 - weight(into));
    bright.connect(envelope);
    dull.connect(envelope);
    addOscillator(shape.bright, bright);
    addOscillator(shape.dull, dull);
  } else {
    addOscillator(shape.brights[0], envelope);
  }
  if (voice.tremor.depth && note.length > LEAST_TREMOR_SECONDS) {
    const swell = new GainNode(context, { gain: 1 });
    sources.push(startTremor(context, swell.gain, voice.tremor, when));
    envelope.connect(swell).connect(out);
  } else {
    envelope.connect(out);
  }
  for (const source of sources) source.start(when);
  const offset = note.hz * 0.997 + when * 0.37;
  for (const source of noiseSources(context, shape, when, note, { out, envelope })) {
    source.start(when, source.buffer ? offset % source.buffer.duration : 0);
    sources.push(source);
  }
  for (const source of sources) source.stop(ends);
  sources[0].onended = () => envelope.disconnect();
  return sources;
}

/**
 * A slow swell of the level, set in gently: so small that up and down in dB is up and down evenly.
 * @param {BaseAudioContext} context
 * @param {AudioParam} level
 * @param {Tremor} tremor
 * @param {number} when
 */
function startTremor(context, level, { rate, depth, delay }, when) {
  const slow = new OscillatorNode(context, { frequency: rate });
  const swing = new GainNode(context, { gain: 0 });
  swing.gain.setValueAtTime(0, when + delay);
  swing.gain.linearRampToValueAtTime(gainOf(depth) - 1, when + 2 * delay);
  slow.connect(swing).connect(level);
  return slow;
}

/**
 * Breath under the tone, and the scrape, tongue or finger at its beginning.
 * @param {BaseAudioContext} context
 * @param {Envelope} shape
 * @param {number} when
 * @param {Note} note
 * @param {{out: AudioNode, envelope: AudioNode}} into
 */
function noiseSources(context, shape, when, note, { out, envelope }) {
  const { breath, burst, burst_seconds: fall } = shape.voice.noise;
  const buffer = sounds.noise(note.wave);
  /** @type {AudioBufferSourceNode[]} */
  const sources = [];
  const addSource = () => {
    const source = new AudioBufferSourceNode(context, { buffer, loop: true });
    sources.push(source);
    return source;
  };
  if (breath > 0.001) addSource().connect(new GainNode(context, { gain: breath })).connect(envelope);
  if (burst > 0 && note.skip === 0 && !shape.isJoined) {
    const level = new GainNode(context, { gain: 0 });
    level.gain.setValueAtTime(0, when);
    level.gain.linearRampToValueAtTime(shape.gain * burst, when + 0.0009);
    level.gain.setTargetAtTime(0, when + 0.0009, fall);
    level.gain.setValueAtTime(0, when + Math.min(note.length + shape.release, 10 * fall));
    addSource().connect(level).connect(out);
  }
  return sources;
}
