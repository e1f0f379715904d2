// The stretches in which a piece is played: once or in a loop, counted in, sung back. Schedule time is
// seconds from the moment the player starts.

import { TOLERANCE, countBefore, turnEnd, turnStart } from "./turns.js";

/** @typedef {import("./schema.js").PageData} PageData */
/** @typedef {import("./turns.js").Count} Count */
/** @typedef {import("./turns.js").CountLength} CountLength */
/** @typedef {[number, number]} TurnRange the first and the last turn */
/** @typedef {[number, number]} TimeRange from and to, in piece time */
/** @typedef {{by: number, every: number, to: number}} TempoSteps per cent, rounds, per cent */
/** @typedef {{start: number, end: number, sung: boolean}} Group */

/**
 * How to play: `factor` 2 is twice as fast; `sing` is the number of cycles sung back at a time, 0 for
 * never; `span` is where a loop of a part of its turns begins and ends; with `faster`, each loop of so
 * many rounds is followed by a faster one; `round` is the round of the loop that is begun, from 1;
 * `resume` is set where a stretch of that kind goes on with other settings.
 * @typedef {object} PlayOptions
 * @property {number} factor
 * @property {TurnRange | null} loop
 * @property {TimeRange | null} [span]
 * @property {TempoSteps | null} [faster]
 * @property {number} [round]
 * @property {number} sing
 * @property {boolean} count
 * @property {CountLength} [countLength]
 * @property {"" | "play" | "sing"} [resume]
 */

/**
 * A stretch of the schedule: `start` and `end` in piece time, `at` and `length` in schedule time;
 * `factor` is its tempo, `round` the round of its loop at that tempo.
 * @typedef {{start: number, end: number, at: number, length: number, factor: number, round: number}}
 *   StretchTimes
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
 * The beginning and the end of a loop in piece time.
 * @param {PageData} piece
 * @param {TurnRange} loop
 * @param {TimeRange | null} [span]
 * @returns {TimeRange}
 */
export function loopTimes(piece, [first, last], span = null) {
  const [begin, end] = [turnStart(piece.turns[first]), turnEnd(piece.turns[last])];
  const [from, to] = span ?? [begin, end];
  const inside = [Math.max(begin, from), Math.min(end, to)];
  return inside[1] - inside[0] > TOLERANCE ? [inside[0], inside[1]] : [begin, end];
}

/**
 * The groups of a piece in order, and the piece time from the first to the last.
 * @param {PageData} piece
 * @param {PlayOptions} options
 */
function playedGroups(piece, { loop, span, sing }) {
  const [first, last] = loop ?? [0, piece.turns.length - 1];
  const [begin, end] = loop ? loopTimes(piece, loop, span) : [0, piece.length];
  const groups = (sing ? groupsOf(piece, first, last, sing) : [])
    .map((group) => ({ ...group, start: Math.max(begin, group.start), end: Math.min(end, group.end) }))
    .filter((group) => group.end > group.start + TOLERANCE);
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
function* groupStretches(group, from, at, { factor, sing, resume, round = 1 }) {
  const start = Math.max(from, group.start);
  const length = (group.end - start) / factor;
  const isSungBack = sing > 0 && group.sung;
  const kind = resume === "sing" && isSungBack ? "sing" : "play";
  yield { kind, start, end: group.end, at, length, factor, round };
  if (isSungBack && kind === "play") {
    // A group begun with other settings is still sung back from its own beginning.
    const again = resume ? group.start : start;
    const whole = (group.end - again) / factor;
    yield { kind: "sing", start: again, end: group.end, at: at + length, length: whole, factor, round };
  }
}

/**
 * The count before a place, as a stretch; none where nothing is counted there.
 * @param {PageData} piece
 * @param {number} from
 * @param {number} at
 * @param {PlayOptions} options
 * @returns {CountStretch[]}
 */
function countStretches(piece, from, at, { factor, countLength = "cycle", round = 1 }) {
  const counted = countBefore(piece, from, countLength);
  if (!counted) return [];
  const length = counted.length / factor;
  return [{ kind: "count", start: from, end: from, at, length, counted, factor, round }];
}

/**
 * The tempo and the round that follow a round of a loop.
 * @param {PlayOptions} options
 * @returns {{factor: number, round: number}}
 */
function nextRound({ factor, faster, round = 1 }) {
  if (!faster || round < faster.every || 100 * factor > faster.to - 0.5) return { factor, round: round + 1 };
  return { factor: Math.min(faster.to, Math.round(100 * factor) + faster.by) / 100, round: 1 };
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
  let now = options;
  let isCounted = options.count;
  for (;;) {
    if (isCounted) {
      for (const stretch of countStretches(piece, from, at, now)) {
        yield stretch;
        at += stretch.length;
      }
    }
    for (const group of groups) {
      if (from >= group.end - TOLERANCE) continue;
      for (const stretch of groupStretches(group, from, at, now)) {
        yield stretch;
        at += stretch.length;
      }
      now = { ...now, resume: "" };
    }
    if (!options.loop || end - begin < TOLERANCE) return;
    from = begin;
    const next = nextRound(now);
    isCounted = next.factor !== now.factor;
    now = { ...now, ...next };
  }
}
