// A tempo from taps on the beat.

import { data, itemAt } from "./data.js";
import { firstBeat, turnAt, turnEnd, turnStart } from "./turns.js";

// A pause of so many milliseconds begins anew.
const TAP_PAUSE = 2500;
// The last so many gaps count.
const MOST_GAPS = 8;

export class TapTempo {
  constructor() {
    /** @type {number[]} */
    this.times = [];
  }

  /**
   * Return the beats a minute after a tap; null after the first.
   * @param {number} time in milliseconds
   */
  tap(time) {
    const last = itemAt(this.times, this.times.length - 1);
    if (last !== undefined && (time - last > TAP_PAUSE || time <= last)) this.times = [];
    this.times.push(time);
    this.times = this.times.slice(-MOST_GAPS - 1);
    const gaps = this.times.slice(1).map((at, index) => at - this.times[index]);
    if (!gaps.length) return null;
    gaps.sort((a, b) => a - b);
    // The middle half: one tap that was missed or late does not count.
    const cut = Math.floor(gaps.length / 4);
    const middle = gaps.slice(cut, gaps.length - cut);
    return (60000 * middle.length) / middle.reduce((sum, gap) => sum + gap, 0);
  }
}

/**
 * The written beats a minute at a piece time, on average over its cycle.
 * @param {number} position
 */
export function writtenTempo(position) {
  const turn = itemAt(data.turns, turnAt(data, position));
  if (!turn || turn.kind === "free") return data.tempo;
  const seconds = turnEnd(turn) - turnStart(turn);
  const first = firstBeat(data, turn);
  const beats = data.cycles[turn.cycle].beats.slice(first, first + turn.beats.length - 1);
  const length = beats.reduce((sum, beat) => sum + beat.length, 0);
  return seconds > 0 && length > 0 ? (60 * length) / seconds : data.tempo;
}
