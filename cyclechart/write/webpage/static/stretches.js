// The stretches in which a piece is played: once or in a loop, counted in, sung back. Schedule time is
// seconds from the moment the player starts.

import { TOLERANCE, countBefore, turnEnd, turnStart } from "./turns.js";

/** @typedef {import("./schema.js").PageData} PageData */
/** @typedef {import("./turns.js").Count} Count */
/** @typedef {[number, number]} TurnRange the first and the last turn */
/** @typedef {{start: number, end: number, sung: boolean}} Group */

/**
 * How to play: `factor` 2 is twice as fast; `sing` is the number of cycles sung back at a time, 0 for
 * never; `resume` is set where a stretch of that kind goes on with other settings.
 * @typedef {object} PlayOptions
 * @property {number} factor
 * @property {TurnRange | null} loop
 * @property {number} sing
 * @property {boolean} count
 * @property {"" | "play" | "sing"} [resume]
 */

/**
 * A stretch of the schedule: `start` and `end` in piece time, `at` and `length` in schedule time.
 * @typedef {{start: number, end: number, at: number, length: number}} StretchTimes
 * @typedef {StretchTimes & {kind: "play" | "sing"}} MusicStretch
 * @typedef {StretchTimes & {kind: "count", counted: Count}} CountStretch
 * @typedef {MusicStretch | CountStretch} Stretch
 */

/**
 * Turns first to last in groups of so many cycles, each to be played and then sung back.
 * @param {PageData} piece
 * @param {number} first
 * @param {number} last
 * @param {number} cycles
 */
function groupsOf(piece, first, last, cycles) {
  /** @type {Group[]} */
  const groups = [];
  let from = first;
  let counted = 0;
  /**
   * @param {number} next
   * @param {boolean} sung
   */
  const close = (next, sung) => {
    if (next > from) {
      const start = turnStart(piece.turns[from]);
      groups.push({ start, end: turnEnd(piece.turns[next - 1]), sung });
    }
    from = next;
    counted = 0;
  };
  for (let at = first; at <= last; at += 1) {
    const { kind } = piece.turns[at];
    if (kind === "count-in") {
      close(at, true);
      close(at + 1, false);
    } else if (kind !== "lead-in") {
      counted += 1;
      if (counted === cycles) close(at + 1, true);
    }
  }
  close(last + 1, true);
  return groups;
}

/**
 * The groups of a piece in order, and the piece time from the first to the last.
 * @param {PageData} piece
 * @param {PlayOptions} options
 */
function playedGroups(piece, { loop, sing }) {
  const [first, last] = loop ?? [0, piece.turns.length - 1];
  const begin = loop ? turnStart(piece.turns[first]) : 0;
  const end = loop ? turnEnd(piece.turns[last]) : piece.length;
  const groups = sing ? groupsOf(piece, first, last, sing) : [];
  if (!groups.length) groups.push({ start: begin, end, sung: false });
  // What comes after the last turn rings out with it.
  const final = groups[groups.length - 1];
  if (!loop) final.end = Math.max(end, final.end);
  return { groups, begin, end };
}

/**
 * Yield a group from a position on, played and, where it is to be, sung back.
 * @param {Group} group
 * @param {number} from
 * @param {number} at
 * @param {PlayOptions} options `resume` holds for this group
 * @returns {Generator<Stretch, void, void>}
 */
function* groupStretches(group, from, at, { factor, sing, resume }) {
  const start = Math.max(from, group.start);
  const length = (group.end - start) / factor;
  const isSungBack = sing > 0 && group.sung;
  const kind = resume === "sing" && isSungBack ? "sing" : "play";
  yield { kind, start, end: group.end, at, length };
  if (isSungBack && kind === "play") {
    // A group begun with other settings is still sung back from its own beginning.
    const again = resume ? group.start : start;
    const whole = (group.end - again) / factor;
    yield { kind: "sing", start: again, end: group.end, at: at + length, length: whole };
  }
}

/**
 * Yield the stretches of a schedule in order, without end in a loop.
 * @param {PageData} piece
 * @param {number} position
 * @param {PlayOptions} options
 * @returns {Generator<Stretch, void, void>}
 */
export function* stretchesOf(piece, position, options) {
  const { groups, begin, end } = playedGroups(piece, options);
  let from = position < begin - TOLERANCE || position >= end - TOLERANCE ? begin : position;
  let at = 0;
  const counted = options.count ? countBefore(piece, from) : null;
  if (counted) {
    const length = counted.length / options.factor;
    yield { kind: "count", start: from, end: from, at, length, counted };
    at += length;
  }
  let { resume } = options;
  for (;;) {
    for (const group of groups) {
      if (from >= group.end - TOLERANCE) continue;
      for (const stretch of groupStretches(group, from, at, { ...options, resume })) {
        yield stretch;
        at += stretch.length;
      }
      resume = "";
    }
    if (!options.loop || end - begin < TOLERANCE) return;
    from = begin;
  }
}
