// The mixer: a strip for each voice, the room, the level, and a limit below full scale; and what has
// been handed to the audio clock.

import { data, gainOf } from "./data.js";
import { sounds } from "./sounds.js";
import { Strip, setGain } from "./strip.js";
import { soundTone } from "./tones.js";
import { countSounds } from "./turns.js";
import { Waves } from "./waves.js";
import { isSilent } from "./who_plays.js";

/** @typedef {import("./schema.js").VoiceData} VoiceData */
/** @typedef {import("./schema.js").StrokeEvent} StrokeEvent */
/** @typedef {import("./schedule.js").ScheduledEvent} ScheduledEvent */
/** @typedef {import("./schedule.js").ScheduledTone} ScheduledTone */

/** @typedef {import("./who_plays.js").Choice} Choice */
/**
 * The levels in dB; `droneLevel` is that of the drone on its own where the band has none.
 * @typedef {Choice & {level: number, levels: number[], droneLevel: number, loudspeaker: boolean}} Levels
 */

/**
 * A recorded sound that was handed to the audio clock; `moves`: its pitch goes with Sa; `key`: its
 * voice and its sound, "" for none.
 * @typedef {object} Stroke
 * @property {AudioBufferSourceNode} source
 * @property {GainNode} level
 * @property {number} when
 * @property {number} ends
 * @property {number} gain
 * @property {boolean} moves
 * @property {string} key
 */

/** @typedef {{when: number, ends: number, sources: AudioScheduledSourceNode[]}} SoundingTone */

// Up to here nothing is limited; `HEADROOM` times full scale is the most that the limiter takes.
const UNTOUCHED = 0.8;
const HEADROOM = 4;
// A stroke's amplitude goes with its velocity to this power, as where the strokes were rendered.
const VELOCITY_POWER = 1.6;
const CLAP_LEVEL = -6;
const CLAP_ROOM = -30;
const DRONE_LEVEL = -7;
const DRONE_ROOM = -15;
// Seconds in which a finger ends the ringing of the string that it plucks again.
const DAMPING = 0.025;
// Seconds by which a sound may be late and is still heard as in time.
const MOST_LATE = 0.03;
// Less than so much of a late tone is not worth entering, and so long it takes to swell.
const LEAST_LATE_TONE = 0.15;
const ENTRY = 0.06;

/** The limiter's curve: straight up to UNTOUCHED, bent softly above, so that nothing clips. */
function limiterCurve() {
  const points = 8193;
  return Float32Array.from({ length: points }, (_, at) => {
    const value = HEADROOM * ((2 * at) / (points - 1) - 1);
    const size = Math.abs(value);
    const room = 1 - UNTOUCHED;
    const bent = size <= UNTOUCHED ? size : UNTOUCHED + room * Math.tanh((size - UNTOUCHED) / room);
    return Math.sign(value) * bent;
  });
}

export class Studio {
  /**
   * @param {BaseAudioContext} context
   * @param {Levels} settings
   */
  constructor(context, settings) {
    this.context = context;
    this.waves = new Waves(context, data.waves);
    this.countSounds = countSounds(data);
    this.level = new GainNode(context, { gain: gainOf(settings.level) / HEADROOM });
    const limiter = new WaveShaperNode(context, { curve: limiterCurve() });
    this.level.connect(limiter).connect(context.destination);
    this.room = new GainNode(context, { gain: 1 });
    this.strips = data.voices.map((voice, at) => {
      const gain = isSilent(settings, at) ? 0 : gainOf(voice.level + settings.levels[at]);
      return this.addStrip(gain, voice.pan, voice.room, voice.speaker);
    });
    // The count before a start is as loud as the piece's own count.
    const counts = data.voices.findIndex((voice) => voice.role === "count");
    this.hands = counts >= 0 ? this.strips[counts] : this.addStrip(gainOf(CLAP_LEVEL), 0, CLAP_ROOM);
    const drone = data.voices.findIndex((voice) => voice.role === "drone");
    const level = DRONE_LEVEL + (drone >= 0 ? settings.levels[drone] : settings.droneLevel);
    this.drone = this.addStrip(gainOf(level), 0, DRONE_ROOM, data.loudspeaker.drone);
    this.setBalance(settings.loudspeaker);
    /** Until the room is decoded, which may be after the first note, it does not answer. */
    this.roomReady = data.room ? this.connectRoom() : Promise.resolve();
  }

  async connectRoom() {
    await sounds.open("room");
    const buffer = sounds.get("room");
    if (!buffer || buffer.sampleRate !== this.context.sampleRate) return;
    const answer = new ConvolverNode(this.context, { buffer, disableNormalization: true });
    this.room.connect(answer).connect(this.level);
  }

  /**
   * @param {number} gain
   * @param {number} pan
   * @param {number} room dB
   * @param {import("./schema.js").Speaker} speaker
   */
  addStrip(gain, pan, room, speaker = [0, 0, null]) {
    const strip = new Strip(this.context, gain, speaker);
    strip.fader.connect(new StereoPannerNode(this.context, { pan })).connect(this.level);
    strip.fader.connect(new GainNode(this.context, { gain: gainOf(room) })).connect(this.room);
    return strip;
  }

  /** @param {boolean} forLoudspeaker what the page is heard on: a small loudspeaker, or headphones */
  setBalance(forLoudspeaker) {
    for (const strip of [...this.strips, this.hands, this.drone]) strip.setBalance(forLoudspeaker);
  }

  /** @param {number} decibels */
  setLevel(decibels) {
    setGain(this.level.gain, gainOf(decibels) / HEADROOM, this.context);
  }

  /**
   * @param {number} at
   * @param {boolean} muted
   * @param {number} decibels
   */
  setVoice(at, muted, decibels) {
    const { level, role } = data.voices[at];
    setGain(this.strips[at].fader.gain, muted ? 0 : gainOf(level + decibels), this.context);
    // Silent in the piece, it can still be asked for on its own.
    if (role === "drone") this.setDrone(decibels);
  }

  /** @param {number} decibels */
  setDrone(decibels) {
    setGain(this.drone.fader.gain, gainOf(DRONE_LEVEL + decibels), this.context);
  }
}

/**
 * Sound a recorded sound at an audio time.
 * @param {AudioNode} out
 * @param {number} when
 * @param {AudioBuffer} buffer
 * @param {{gain?: number, rate?: number, moves?: boolean, key?: string}} [options] `rate`: its speed
 * @returns {Stroke}
 */
export function soundBuffer(out, when, buffer, options = {}) {
  const { gain = 1, rate = 1, moves = false, key = "" } = options;
  const level = new GainNode(out.context, { gain });
  const source = new AudioBufferSourceNode(out.context, { buffer, playbackRate: rate });
  source.connect(level).connect(out);
  source.onended = () => level.disconnect();
  source.start(when);
  return { source, level, when, ends: when + buffer.duration / rate, gain, moves, key };
}

/**
 * End a stroke's ringing at an audio time, or take it back where it has not begun.
 * @param {Stroke} stroke
 * @param {number} when
 */
export function damp(stroke, when) {
  if (when < stroke.when) {
    stroke.ends = when;
    stroke.source.stop(0);
    return;
  }
  stroke.ends = Math.min(stroke.ends, when + DAMPING);
  stroke.level.gain.setValueAtTime(stroke.gain, when);
  stroke.level.gain.linearRampToValueAtTime(0, when + DAMPING);
  stroke.source.stop(when + DAMPING + 0.005);
}

/**
 * A way to `out` that opens gradually at an audio time.
 * @param {GainNode} out
 * @param {number} when
 */
function softEntry(out, when) {
  const entry = new GainNode(out.context, { gain: 0 });
  entry.gain.setValueAtTime(0, when);
  entry.gain.linearRampToValueAtTime(1, when + ENTRY);
  entry.connect(out);
  return entry;
}

/** Everything of one schedule that was handed to the audio clock, so that it can be taken back. */
export class Take {
  /**
   * @param {Studio} studio
   * @param {number} origin the audio time of the schedule's beginning
   * @param {number} shift semitones that Sa is moved
   */
  constructor(studio, origin, shift) {
    this.studio = studio;
    this.origin = origin;
    this.shift = shift;
    this.gates = studio.strips.map((strip) => {
      const gate = new GainNode(studio.context, { gain: 1 });
      gate.connect(strip.input);
      return gate;
    });
    /** @type {SoundingTone[]} */
    this.tones = [];
    /** @type {Stroke[]} */
    this.strokes = [];
    /** @type {Map<string, Stroke>} the last pluck of each string */
    this.strings = new Map();
  }

  /**
   * Hand over an event. After the page was held up, what is late is dropped: struck together, it would
   * be louder than the music. A tone that is still held is entered softly on its way.
   * @param {ScheduledEvent} event
   * @param {number} [now] the audio time at which the handing over began
   * @returns whether the event was handed over
   */
  add(event, now = this.studio.context.currentTime) {
    const due = this.origin + event.time;
    const late = now - due > MOST_LATE ? now - due : 0;
    const when = Math.max(due, now, this.studio.context.currentTime);
    if (event.kind === "tone") return this.addTone(event, when, late);
    if (late) return false;
    if (event.kind === "clap") this.addClap(event.sign, when);
    else {
      const voice = data.voices[event.voice];
      this.addStroke(voice, event.voice, voice.strokes[event.index], when);
    }
    return true;
  }

  /**
   * @param {ScheduledTone} event
   * @param {number} when
   * @param {number} late seconds of it that have passed unheard
   */
  addTone(event, when, late) {
    const voice = data.voices[event.voice];
    const [, , cents, velocity, curve, joins] = voice.tones[event.index];
    const hz = data.hertz * 2 ** ((cents + 100 * this.shift) / 1200);
    const length = event.length - late;
    if (late && length < LEAST_LATE_TONE) return false;
    const { factor } = event;
    const skip = event.skip + late;
    const note = { wave: voice.wave, hz, velocity, length, skip, curve, factor, joins };
    const gate = this.gates[event.voice];
    const out = late ? softEntry(gate, when) : gate;
    this.tones.push({ when, ends: when + length + 1, sources: soundTone(this.studio, out, when, note) });
    return true;
  }

  /**
   * @param {string} sign
   * @param {number} when
   */
  addClap(sign, when) {
    const own = this.studio.countSounds.get(sign);
    const recorded = own && sounds.get(own.name);
    const gain = recorded ? (own.velocity / data.sounds[own.name].velocity) ** VELOCITY_POWER : 1;
    this.strokes.push(soundBuffer(this.studio.hands.input, when, recorded || sounds.clap(sign), { gain }));
  }

  /**
   * @param {VoiceData} voice
   * @param {number} number of the voice
   * @param {StrokeEvent} event
   * @param {number} when
   */
  addStroke(voice, number, [, sound, velocity], when) {
    const name = voice.sounds[sound];
    const buffer = sounds.get(name);
    if (!buffer) return;
    const { cents, velocity: recorded } = data.sounds[name];
    const moves = cents !== null;
    const gain = (velocity / recorded) ** VELOCITY_POWER;
    const rate = moves ? 2 ** (this.shift / 12) : 1;
    const options = { gain, rate, moves, key: `${number} ${sound}` };
    const stroke = soundBuffer(this.studio.strips[number].input, when, buffer, options);
    for (const other of voice.stops?.[sound] ?? []) this.choke(`${number} ${other}`, when);
    this.strokes.push(stroke);
    if (moves) {
      const key = `${number} ${cents}`;
      const before = this.strings.get(key);
      if (before && before.ends > when) damp(before, when);
      this.strings.set(key, stroke);
    }
  }

  /**
   * End what rings of a sound, as a closed hi-hat ends the open one.
   * @param {string} key
   * @param {number} when
   */
  choke(key, when) {
    for (const stroke of this.strokes) {
      if (stroke.key === key && stroke.when < when && stroke.ends > when) damp(stroke, when);
    }
  }

  /**
   * Forget what is over.
   * @param {number} now
   */
  tidy(now) {
    this.tones = this.tones.filter((tone) => tone.ends > now);
    this.strokes = this.strokes.filter((stroke) => stroke.ends >= now && stroke.when >= now - 9);
  }

  /**
   * Take back what has not begun, end what is held.
   * @param {number} now
   * @param {boolean} all end what rings, too
   */
  cancel(now, all) {
    for (const gate of this.gates) {
      gate.gain.setValueAtTime(1, now);
      gate.gain.linearRampToValueAtTime(0, now + 0.03);
    }
    for (const tone of this.tones) for (const source of tone.sources) source.stop(now + 0.035);
    for (const stroke of this.strokes) if (all || stroke.when > now) damp(stroke, now);
  }

  /**
   * Move ringing strings with Sa at once.
   * @param {number} shift
   * @param {number} now
   */
  bend(shift, now) {
    for (const stroke of this.strokes) {
      if (stroke.moves && stroke.when <= now) {
        stroke.source.playbackRate.setTargetAtTime(2 ** (shift / 12), now, 0.008);
      }
    }
  }
}
