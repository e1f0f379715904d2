// The time practised: seconds played, by day and piece, kept on the device.

import { data } from "./data.js";
import { asMapping, readStoredData, removeStored, writeStored } from "./device_storage.js";

/** @typedef {{day: string, piece: string, seconds: number}} PracticeRow */

const LOG_NAME = "cyclechart practice";
// A page that slept did not play: no more seconds than these are counted from one look to the next.
const MOST_BETWEEN = 5;
const DAY_SECONDS = 86400;
// The oldest days are forgotten after so many.
const MOST_DAYS = 1000;
const DAY = /^\d{4}-\d{2}-\d{2}$/;

/** The day in the place where the page is used: 2026-03-09. */
export function today() {
  const now = new Date();
  const two = (/** @type {number} */ number) => String(number).padStart(2, "0");
  return `${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())}`;
}

/**
 * What was practised, the last day first.
 * @returns {PracticeRow[]}
 */
export function practiceRows() {
  /** @type {PracticeRow[]} */
  const rows = [];
  for (const [day, pieces] of Object.entries(asMapping(readStoredData(LOG_NAME)))) {
    if (!DAY.test(day)) continue;
    for (const [piece, seconds] of Object.entries(asMapping(pieces))) {
      if (typeof seconds !== "number" || !(seconds > 0)) continue;
      rows.push({ day, piece, seconds: Math.min(DAY_SECONDS, seconds) });
    }
  }
  return rows.sort((a, b) => b.day.localeCompare(a.day) || a.piece.localeCompare(b.piece));
}

/** @param {PracticeRow[]} rows */
function storeRows(rows) {
  const days = [...new Set(rows.map(({ day }) => day))].sort().slice(-MOST_DAYS);
  /** @type {Map<string, [string, number][]>} */
  const byDay = new Map(days.map((day) => [day, []]));
  for (const { day, piece, seconds } of rows) byDay.get(day)?.push([piece, Math.round(seconds)]);
  const log = Object.fromEntries([...byDay].map(([day, pieces]) => [day, Object.fromEntries(pieces)]));
  writeStored(LOG_NAME, JSON.stringify(log));
}

export function clearPractice() {
  removeStored(LOG_NAME);
}

/** @param {number} seconds */
export function minutesText(seconds) {
  const minutes = Math.floor(seconds / 60);
  if (minutes < 1) return seconds > 0 ? "less than a minute" : "nothing yet";
  if (minutes < 60) return minutes === 1 ? "1 minute" : `${minutes} minutes`;
  return `${Math.floor(minutes / 60)} h ${String(minutes % 60).padStart(2, "0")} min`;
}

/** What was practised as a text: day, minutes and piece, separated by tabs. */
export function practiceText() {
  const lines = practiceRows().map(({ day, piece, seconds }) =>
    [day, (seconds / 60).toFixed(1), piece.replace(/\s+/g, " ")].join("\t"),
  );
  return ["day\tminutes\tpiece", ...lines].join("\n") + "\n";
}

/** Counts the time for which the piece plays. */
export class PracticeClock {
  constructor() {
    this.pending = 0;
    /** @type {number | null} when it was looked at last, while the piece plays */
    this.since = null;
  }

  /**
   * @param {boolean} isPlaying
   * @param {number} now in milliseconds
   */
  look(isPlaying, now) {
    if (this.since !== null) this.pending += Math.min(MOST_BETWEEN, (now - this.since) / 1000);
    this.since = isPlaying ? now : null;
  }

  /** Add what was counted to the log of the device, which another page may have added to as well. */
  keep() {
    if (this.pending < 1) return;
    const seconds = Math.floor(this.pending);
    this.pending -= seconds;
    const day = today();
    const rows = practiceRows();
    const row = rows.find((one) => one.day === day && one.piece === data.title);
    if (row) row.seconds += seconds;
    else rows.push({ day, piece: data.title, seconds });
    storeRows(rows);
  }
}
