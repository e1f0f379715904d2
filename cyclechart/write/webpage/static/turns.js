// The turns of a piece, and the count before a start. Piece time is seconds at the written tempo.

import { itemAt, lastAtMost } from "./data.js";

/** @typedef {import("./schema.js").PageData} PageData */
/** @typedef {import("./schema.js").Turn} Turn */

/** @typedef {"section" | "cycle"} CountLength the last section of the cycle, or all of it */

/**
 * A count before a start: `turn` is the one whose claps are counted, `length` in piece time, `beats`
 * in piece time from the count's beginning with the index of the beat in its cycle.
 * @typedef {{turn: number, length: number, beats: {at: number, beat: number, sign: string}[]}} Count
 */

// Rounded times of notes may lie this much before the beat they belong to.
export const TOLERANCE = 0.0005;
// Beats that are counted at the least: a section shorter than that is counted with the one before it.
const LEAST_COUNT = 2;

/** @param {Turn} turn */
export function turnStart(turn) {
  return turn.beats[0];
}

/** @param {Turn} turn */
export function turnEnd(turn) {
  return turn.beats[turn.beats.length - 1];
}

/**
 * The index of the turn at a piece time.
 * @param {PageData} piece
 * @param {number} position
 */
export function turnAt(piece, position) {
  return Math.max(0, lastAtMost(piece.turns, position + TOLERANCE, turnStart));
}

/**
 * The index of the section at a piece time, during a count-in the one that follows; -1 for none.
 * @param {PageData} piece
 * @param {number} position
 */
export function sectionAt(piece, position) {
  for (let at = turnAt(piece, position); at < piece.turns.length; at += 1) {
    if (piece.turns[at].section >= 0) return piece.turns[at].section;
  }
  return -1;
}

/**
 * The index in its cycle of a turn's first beat: a short lead-in has the cycle's last beats.
 * @param {PageData} piece
 * @param {Turn} turn
 */
export function firstBeat(piece, turn) {
  if (turn.kind !== "lead-in") return 0;
  return Math.max(0, piece.cycles[turn.cycle].beats.length - (turn.beats.length - 1));
}

/**
 * @param {PageData} piece
 * @param {Turn} turn
 */
function isWholeCycle(piece, turn) {
  return turn.kind !== "free" && turn.beats.length === piece.cycles[turn.cycle].beats.length + 1;
}

/**
 * The whole cycle by which a start in a turn is counted: its own, the next one, or else the last before.
 * @param {PageData} piece
 * @param {number} index
 */
function modelCycle(piece, index) {
  const isWhole = (/** @type {Turn} */ turn) => isWholeCycle(piece, turn);
  return piece.turns.slice(index).find(isWhole) ?? piece.turns.slice(0, index).reverse().find(isWhole);
}

/**
 * The claps before a start at a piece time: they end where the music begins, in the middle of a cycle
 * too. Null where none are counted.
 * @param {PageData} piece
 * @param {number} position
 * @param {CountLength} span
 * @returns {Count | null}
 */
export function countBefore(piece, position, span) {
  const index = turnAt(piece, position);
  const here = itemAt(piece.turns, index);
  if (!here || here.kind === "count-in" || here.kind === "free") return null;
  const model = modelCycle(piece, index);
  if (!model) return null;
  const begin = turnStart(model);
  const whole = turnEnd(model) - begin;
  const isLeadIn = here.kind === "lead-in";
  // A lead-in comes in while the cycle is counted.
  const into = isLeadIn ? whole - (turnEnd(here) - position) : position - turnStart(here);
  const isWithin = into > TOLERANCE && into < whole;
  const end = isWithin ? into : whole;
  const { beats } = piece.cycles[model.cycle];
  const claps = [-1, 0].flatMap((round) =>
    beats.map((beat, at) => ({ at: model.beats[at] - begin + round * whole, beat: at, sign: beat.sign })),
  );
  const last = beats[beats.length - 1];
  const least = (LEAST_COUNT * whole) / (last.at + last.length);
  const opens = claps.filter(({ at, beat }) =>
    beats[beat].opens_section && at > end - whole && at <= end - least + TOLERANCE);
  const wholeStart = isLeadIn && isWithin ? 0 : claps[lastAtMost(claps, end - whole + TOLERANCE, ({ at }) => at)].at;
  const start = (span === "section" ? opens.at(-1)?.at : undefined) ?? wholeStart;
  const counted = claps.filter(({ at }) => at > start - TOLERANCE && at < end - TOLERANCE);
  return {
    turn: piece.turns.indexOf(model),
    length: end - start,
    beats: counted.map((clap) => ({ ...clap, at: Math.max(0, clap.at - start) })),
  };
}

/**
 * The sound and velocity of each sign in the piece's own count.
 * @param {PageData} piece
 */
export function countSounds(piece) {
  /** @type {Map<string, {name: string, velocity: number}>} */
  const found = new Map();
  piece.voices.forEach((voice) => {
    if (voice.role !== "count") return;
    for (const [start, sound, velocity] of voice.strokes) {
      const turn = piece.turns[turnAt(piece, start)];
      const at = lastAtMost(turn.beats, start + TOLERANCE, (time) => time);
      const beat = itemAt(piece.cycles[turn.cycle].beats, at + firstBeat(piece, turn));
      const isOnBeat = start - turn.beats[at] < 2 * TOLERANCE;
      if (beat && turn.kind !== "free" && isOnBeat && !found.has(beat.sign)) {
        found.set(beat.sign, { name: voice.sounds[sound], velocity });
      }
    }
  });
  return found;
}
