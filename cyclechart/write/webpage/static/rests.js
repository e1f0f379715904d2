// The rests of a player: the cycles that are left of one, and the entry after it.

import { sectionWords } from "./cycle_words.js";
import { itemAt, lastAtMost } from "./data.js";
import { TOLERANCE, firstBeat, sectionAt, turnAt, turnEnd, turnStart } from "./turns.js";

/** @typedef {import("./schema.js").PageData} PageData */
/** @typedef {import("./schema.js").VoiceData} VoiceData */
/** @typedef {[start: number, end: number]} Span in piece time */

/**
 * A rest of at least a cycle: `left` turns begin until that of the `entry`, which is null where none
 * comes; `isAgain`: it comes in the next round of the loop.
 * @typedef {{entry: number | null, left: number, isAgain: boolean}} Rest
 */

// Strokes ring, but nobody plays while they do.
const STROKE = 0.2;
// Players are some hundredths of a second around the beat.
const AROUND = 0.05;
const MOST_NOTES = 4;
const SVARAS = ["S", "r", "R", "g", "G", "m", "M", "P", "d", "D", "n", "N"];

/**
 * The spans in which a player plays or has notes to read, in order, none touching another.
 * @param {PageData} piece
 * @param {string} player
 * @param {readonly (readonly [start: number, end: number, id: string])[]} notes
 */
export function playedSpans(piece, player, notes) {
  const voice = piece.voices.find(({ name }) => name === player);
  /** @type {Span[]} */
  const spans = notes.map(([start, end]) => [start, end]);
  for (const [start, length] of voice?.tones ?? []) spans.push([start, start + length]);
  for (const [start] of voice?.strokes ?? []) spans.push([start, start + STROKE]);
  spans.sort((a, b) => a[0] - b[0]);
  /** @type {Span[]} */
  const joined = [];
  for (const [start, end] of spans) {
    const last = joined.at(-1);
    if (last && start <= last[1] + TOLERANCE) last[1] = Math.max(last[1], end);
    else joined.push([start, end]);
  }
  return joined;
}

/**
 * How many turns lie within a span.
 * @param {PageData} piece
 * @param {Span} span
 */
function turnsWithin(piece, [start, end]) {
  const isWithin = (/** @type {import("./schema.js").Turn} */ turn) =>
    turnStart(turn) >= start - AROUND && turnEnd(turn) <= end + AROUND;
  return piece.turns.filter(isWithin).length;
}

/**
 * The rest at a piece time; null where there is none, or a short one.
 * @param {PageData} piece
 * @param {Span[]} spans of the player
 * @param {number} position
 * @param {Span | null} loop
 * @returns {Rest | null}
 */
export function restAt(piece, spans, position, loop) {
  if (!spans.length || !piece.turns.length) return null;
  const at = lastAtMost(spans, position + AROUND, ([start]) => start);
  const before = itemAt(spans, at);
  if (before && before[1] > position + TOLERANCE) return null;
  const begin = before ? before[1] : 0;
  const here = turnAt(piece, position);
  const [first, end] = loop ?? [0, piece.length];
  const next = itemAt(spans, at + 1);
  if (next && (!loop || next[0] < end - AROUND)) {
    if (!turnsWithin(piece, [begin, next[0]])) return null;
    return { entry: next[0], left: turnAt(piece, next[0] + AROUND) - here, isAgain: false };
  }
  const toEnd = turnsWithin(piece, [begin, end]);
  const again = loop && spans.find((span) => span[1] > first + AROUND && span[0] < end - AROUND);
  if (!again) return toEnd ? { entry: null, left: 0, isAgain: false } : null;
  const entry = Math.max(first, again[0]);
  if (!toEnd && !turnsWithin(piece, [first, entry])) return null;
  const left = turnAt(piece, end - AROUND) + 1 - here + turnAt(piece, entry + AROUND) - turnAt(piece, first);
  return { entry, left, isAgain: true };
}

/**
 * The beat of a piece time in words; nothing in a free stretch.
 * @param {PageData} piece
 * @param {number} time
 */
function beatWords(piece, time) {
  const turn = piece.turns[turnAt(piece, time + AROUND)];
  if (turn.kind === "free") return "";
  const at = lastAtMost(turn.beats, time + AROUND, (beat) => beat);
  const beat = itemAt(piece.cycles[turn.cycle].beats, at + firstBeat(piece, turn));
  if (!beat) return "";
  return `${time - turn.beats[at] > AROUND ? "after" : "on"} beat ${beat.name}`;
}

/**
 * The first notes of an entry: svaras or strokes, and nothing where they are chords or unnamed.
 * @param {PageData} piece
 * @param {VoiceData | undefined} voice
 * @param {number} entry
 */
function firstNotes(piece, voice, entry) {
  if (!voice) return "";
  const until = turnEnd(piece.turns[turnAt(piece, entry + AROUND)]);
  const isSoon = (/** @type {readonly number[]} */ [start]) => start > entry - AROUND && start < until - AROUND;
  const names = voice.strokes.filter((one) => isSoon([one[0]])).map(([, sound]) => voice.sounds[sound].split(" ")[1]);
  const tones = voice.tones.filter((one) => isSoon([one[0]]));
  if (tones.some(([start], at) => at > 0 && start - tones[at - 1][0] < AROUND)) return "";
  const section = itemAt(piece.sections, sectionAt(piece, entry + AROUND));
  const sa = section ? section.key - piece.key : 0;
  for (const [, , cents] of tones) names.push(SVARAS[(((Math.round(cents / 100) - sa) % 12) + 12) % 12]);
  if (voice.role === "drone" || names.some((name) => !name || /^\d/.test(name))) return "";
  return names.slice(0, MOST_NOTES).join(" ");
}

/**
 * @param {PageData} piece
 * @param {number} here the turn
 * @param {number} left
 */
function leftWords(piece, here, left) {
  const isFree = piece.turns[here].kind === "free";
  const cycles = left - (isFree ? 1 : 0);
  const count = cycles === 1 ? "1 cycle" : `${cycles} cycles`;
  if (!isFree) return `Rest: ${count} more`;
  return cycles ? `Rest: this free stretch, ${count}` : "Rest: this free stretch";
}

/**
 * A rest in words: what is left of it, and the next entry.
 * @param {PageData} piece
 * @param {Rest} rest
 * @param {number} position
 * @param {{part: string, loop: unknown}} settings
 */
export function restWords(piece, { entry, left }, position, { part, loop }) {
  if (entry === null) return loop ? "Rest: nothing to play in this loop" : "Rest to the end";
  const voice = piece.voices.find(({ name }) => name === part);
  const here = turnAt(piece, position);
  const notes = firstNotes(piece, voice, entry);
  const beat = beatWords(piece, entry);
  const end = notes && `: ${notes}`;
  if (left <= 0) return `Come in ${beat || "in this stretch"}${end}`;
  const [now, then] = [position, entry + AROUND].map((time) => sectionAt(piece, time));
  const section = then === now ? "" : sectionWords(itemAt(piece.sections, then)).replace(/\s+/g, " ");
  const place = [section, beat].filter(Boolean).join(" ") || "again";
  return `${leftWords(piece, here, left)}, then ${place}${end}`;
}
