// The events of a piece in the order in which they are played: pure sums, no sound and no elements.

import { itemAt, lastAtMost } from "./data.js";
import { stretchesOf } from "./stretches.js";

/** @typedef {import("./schema.js").PageData} PageData */
/** @typedef {import("./schema.js").StrokeEvent} StrokeEvent */
/** @typedef {import("./schema.js").ToneEvent} ToneEvent */
/** @typedef {import("./schema.js").VoiceData} VoiceData */
/** @typedef {import("./stretches.js").CountStretch} CountStretch */
/** @typedef {import("./stretches.js").MusicStretch} MusicStretch */
/** @typedef {import("./stretches.js").PlayOptions} PlayOptions */
/** @typedef {import("./stretches.js").Stretch} Stretch */

/**
 * A place in a schedule: `into` is in schedule time from the stretch's beginning, `position` in piece
 * time; `stretch` is null while nothing plays.
 * @typedef {{stretch: Stretch | null, into: number, position: number}} Place
 */

/**
 * Events in schedule time; `voice` and `index` say which tone or stroke of the data it is, `skip` how
 * many seconds of a tone have already passed, `factor` the tempo by which its curve is read.
 * @typedef {{kind: "clap", time: number, sign: string, voice: number, index: number}} ClapEvent
 * @typedef {{kind: "stroke", time: number, voice: number, index: number}} ScheduledStroke
 * @typedef {{kind: "tone", time: number, length: number, skip: number, factor: number, voice: number,
 *   index: number}} ScheduledTone
 * @typedef {ClapEvent | ScheduledStroke | ScheduledTone} ScheduledEvent
 */

// A held note is joined on its way only where at least this much of it is left.
const LEAST_REMAINDER = 0.15;
// Players are a few milliseconds early or late: what begins so shortly before a bar belongs to it.
const EARLY = 0.02;
// The display looks back a moment only, so a long loop need not keep all its stretches.
const MOST_STRETCHES = 64;

/** The schedule of a piece from a position on: its events in order of time, and the position at a time. */
export class Schedule {
  /**
   * @param {PageData} piece
   * @param {number} position
   * @param {PlayOptions} options
   */
  constructor(piece, position, options) {
    this.piece = piece;
    this.options = options;
    this.begin = position;
    this.source = stretchesOf(piece, position, options);
    /** @type {Stretch[]} */
    this.stretches = [];
    this.ended = false;
    this.nextClap = 0;
    /** @type {{tone: number, stroke: number}[] | null} the next of each voice; null: not yet known */
    this.next = null;
    this.advance();
  }

  /** The stretch whose events are handed out now; undefined where there is nothing to play. */
  get current() {
    return itemAt(this.stretches, this.stretches.length - 1);
  }

  advance() {
    const { value, done } = this.source.next();
    this.ended = Boolean(done);
    if (!value) return;
    this.stretches.push(value);
    this.nextClap = 0;
    this.next = null;
  }

  /** The end of the schedule, or Infinity as long as more comes. */
  get length() {
    if (!this.ended) return Infinity;
    return this.current ? this.current.at + this.current.length : 0;
  }

  /**
   * The stretch at a schedule time, how far into it that is, and the piece time there.
   * @param {number} time
   * @returns {Place}
   */
  at(time) {
    const index = Math.max(0, lastAtMost(this.stretches, time + 1e-9, (stretch) => stretch.at));
    const stretch = itemAt(this.stretches, index);
    if (!stretch) return { stretch: null, into: 0, position: this.begin };
    const into = Math.min(Math.max(0, time - stretch.at), stretch.length);
    const isCount = stretch.kind === "count";
    const position = isCount ? stretch.start : stretch.start + into * stretch.factor;
    return { stretch, into, position };
  }

  /**
   * The events that begin before a schedule time and were not handed out before.
   * @param {number} time
   */
  until(time) {
    /** @type {ScheduledEvent[]} */
    const found = [];
    while (!this.ended) {
      const stretch = this.current;
      if (!stretch || stretch.at >= time) break;
      const isWhole = time >= stretch.at + stretch.length;
      if (stretch.kind === "count") this.addClaps(stretch, isWhole ? Infinity : time, found);
      else this.addEvents(stretch, isWhole ? Infinity : time, found);
      if (!isWhole) break;
      this.advance();
    }
    if (this.stretches.length > MOST_STRETCHES) this.stretches.splice(0, MOST_STRETCHES / 2);
    return found.sort((a, b) => a.time - b.time);
  }

  /**
   * @param {CountStretch} stretch
   * @param {number} time
   * @param {ScheduledEvent[]} found
   */
  addClaps(stretch, time, found) {
    const { beats } = stretch.counted;
    for (; this.nextClap < beats.length; this.nextClap += 1) {
      const clap = beats[this.nextClap];
      const when = stretch.at + clap.at / stretch.factor;
      if (when >= time) return;
      found.push({ kind: "clap", time: when, sign: clap.sign, voice: -1, index: this.nextClap });
    }
  }

  /**
   * @param {MusicStretch} stretch
   * @param {number} time
   * @param {ScheduledEvent[]} found
   */
  addEvents(stretch, time, found) {
    const { voices } = this.piece;
    const { factor } = stretch;
    const isSilent = (/** @type {VoiceData} */ voice) => stretch.kind === "sing" && voice.role === "melody";
    const isFirst = !this.next;
    if (!this.next) {
      this.next = voices.map((voice) => ({
        tone: firstFrom(voice.tones, stretch.start),
        stroke: firstFrom(voice.strokes, stretch.start),
      }));
    }
    for (const [number, next] of this.next.entries()) {
      const { tones, strokes } = voices[number];
      if (isSilent(voices[number])) continue;
      if (isFirst) this.addHeld(stretch, number, next.tone, found);
      for (; next.tone < tones.length; next.tone += 1) {
        const [start, length] = tones[next.tone];
        const when = this.timeOf(stretch, start);
        if (start >= stretch.end - EARLY || when >= time) break;
        const sounding = Math.min(length, stretch.end - start) / factor;
        const index = next.tone;
        found.push({ kind: "tone", time: when, length: sounding, skip: 0, factor, voice: number, index });
      }
      for (; next.stroke < strokes.length; next.stroke += 1) {
        const [start] = strokes[next.stroke];
        const when = this.timeOf(stretch, start);
        if (start >= stretch.end - EARLY || when >= time) break;
        found.push({ kind: "stroke", time: when, voice: number, index: next.stroke });
      }
    }
  }

  /**
   * The schedule time of a piece time in a stretch.
   * @param {MusicStretch} stretch
   * @param {number} start
   */
  timeOf(stretch, start) {
    return stretch.at + Math.max(0, start - stretch.start) / stretch.factor;
  }

  /**
   * Add the notes that are held where a stretch begins: they are joined on their way.
   * @param {MusicStretch} stretch
   * @param {number} number the voice
   * @param {number} before the index of the first tone that begins in the stretch
   * @param {ScheduledEvent[]} found
   */
  addHeld(stretch, number, before, found) {
    const { factor } = stretch;
    for (let index = 0; index < before; index += 1) {
      const [start, length] = this.piece.voices[number].tones[index];
      const left = Math.min(start + length, stretch.end) - stretch.start;
      if (left > LEAST_REMAINDER) {
        const skip = (stretch.start - start) / factor;
        const time = stretch.at;
        found.push({ kind: "tone", time, length: left / factor, skip, factor, voice: number, index });
      }
    }
  }
}

/**
 * The index of the first event at or after a piece time.
 * @param {readonly (ToneEvent | StrokeEvent)[]} events
 * @param {number} start
 */
function firstFrom(events, start) {
  return lastAtMost(events, start - EARLY, ([time]) => time) + 1;
}
