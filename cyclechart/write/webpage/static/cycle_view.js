// The cycle beat by beat: signs and numbers in a row, the present beat large beside it.

import {
  cellName, cycleWords, differs, saIn, sectionWords, signWords, turnWords,
} from "./cycle_words.js";
import { byId, data, itemAt, lastAtMost } from "./data.js";
import { make, setText } from "./elements.js";
import { TOLERANCE, firstBeat, sectionAt, turnAt, turnEnd } from "./turns.js";

/** @typedef {import("./schema.js").Section} Section */
/** @typedef {import("./schema.js").Turn} Turn */
/** @typedef {import("./schedule.js").Place} Place */
/** @typedef {import("./settings.js").Settings} Settings */

// Pixels of a beat in the row: the least where there is room, the least at all, the most.
const NARROW = 22;
const NARROWEST = 17;
const WIDEST = 46;
// Pixels between groups and between rows, and of a group's own bar, as the style has them.
const GROUP_GAP = 6;
const GROUP_BAR = 3;
const ROW_PADDING = 6;
// A part of a beat is drawn at least this wide, in beats: its number stands in it.
const SHORTEST = 0.78;
// More rows than these are not tried for larger cells.
const MOST_ROWS = 8;

export class CycleView {
  constructor() {
    /** @type {number | null} the index of the cycle that is drawn */
    this.cycle = null;
    /** @type {HTMLElement[]} */
    this.cells = [];
    this.here = -1;
    /** @type {number | null} the section that was announced last */
    this.section = null;
    this.wordsHeight = 0;
    this.key = "";
    // Not the cycle itself, whose own height is what is fitted.
    new ResizeObserver(() => this.fit()).observe(byId("main"));
  }

  /** @param {number} index */
  draw(index) {
    if (this.cycle === index) return;
    this.cycle = index;
    const cycle = data.cycles[index];
    const beats = byId("beats");
    beats.replaceChildren();
    beats.setAttribute("aria-label", cycleWords(cycle));
    this.cells = [];
    /** @type {HTMLElement | null} */
    let group = null;
    for (const beat of cycle.beats) {
      if (beat.opens_section || !group) {
        group = make("span", { class: "group" });
        beats.append(group);
      }
      const cell = make("span", { class: beat.open ? "beat open" : "beat" });
      if (beat.length < 1) cell.classList.add("short");
      const width = Math.max(SHORTEST, Math.min(2, beat.length));
      cell.style.setProperty("--length", String(width));
      cell.append(make("b", {}, beat.sign), make("i", {}, cellName(beat.name)));
      if (beat.name.includes(" ")) cell.classList.add("broken");
      group.append(cell);
      this.cells.push(cell);
    }
    this.here = -1;
    this.fit();
  }

  /** All beats in view: where the cycle would take the room of the part, the large count is made
      smaller, the beats stand below it and more of them in a row. */
  fit() {
    if (this.cycle === null) return;
    const cycle = byId("cycle");
    const beats = byId("beats");
    beats.style.maxHeight = "";
    const most = this.heightLimit();
    for (const tight of [false, true]) {
      cycle.classList.toggle("tight", tight);
      this.size(tight ? NARROWEST : NARROW, tight ? most - this.height() + beats.offsetHeight : 0);
      if (this.height() <= most) return;
    }
    // A cycle longer than any that is known: its row scrolls with the beat.
    beats.style.maxHeight = `${Math.max(64, most - this.height() + beats.offsetHeight)}px`;
    this.scrollToBeat();
  }

  /** Where the row of beats scrolls, the present one is in view. */
  scrollToBeat() {
    const beats = byId("beats");
    const cell = itemAt(this.cells, this.here);
    if (!cell || beats.scrollHeight <= beats.clientHeight) return;
    beats.scrollTop += cell.getBoundingClientRect().top - beats.getBoundingClientRect().top - 8;
  }

  /** The most pixels for the cycle: all where it is beside the part, and where it is above the part as
      many as leave the part half of the screen. */
  heightLimit() {
    const [head, main, bar] = ["head", "main", "bar"].map((id) => byId(id).offsetHeight);
    const isBeside = byId("score").offsetLeft >= byId("cycle").offsetWidth;
    return isBeside ? main : Math.max(110, (head + main + bar) / 2 - head - bar);
  }

  /** The height of the cycle's contents in pixels. */
  height() {
    const { paddingTop, paddingBottom, borderBottomWidth } = getComputedStyle(byId("cycle"));
    const boxes = ["now", "where", "beats"].map(byId);
    const top = Math.min(...boxes.map((box) => box.offsetTop));
    const bottom = Math.max(...boxes.map((box) => box.offsetTop + box.offsetHeight));
    const around = [paddingTop, paddingBottom, borderBottomWidth].map(parseFloat);
    return around.reduce((sum, pixels) => sum + pixels, bottom - top);
  }

  /**
   * Make cells as wide as they can be in as few rows as the cycle needs, or in more rows of larger
   * cells that together are not too high.
   * @param {number} narrowest
   * @param {number} most pixels of height
   */
  size(narrowest, most) {
    const beats = byId("beats");
    const room = beats.clientWidth - ROW_PADDING;
    const groups = [...beats.children].map((group) => [...group.children].map(cellLength));
    const fewest = rowCount(groups, narrowest, room);
    const widest = (/** @type {number} */ rows) => {
      let cell = WIDEST;
      while (cell > narrowest && rowCount(groups, cell, room) > rows) cell -= 0.25;
      return cell;
    };
    let cell = widest(fewest);
    for (let rows = fewest + 1; cell < NARROW + 4 && rows <= MOST_ROWS; rows += 1) {
      const next = widest(rows);
      if (rows * (digitSize(next) * 2.55 + 9) > most) break;
      cell = next;
    }
    beats.style.setProperty("--cell", `${cell}px`);
    beats.style.setProperty("--digits", `${digitSize(cell).toFixed(1)}px`);
  }

  /**
   * Show a place; fast, for it runs with every frame of the screen.
   * @param {Place} place
   * @param {Settings} settings
   */
  show({ stretch, position, into }, { factor: chosen, shift }) {
    const factor = stretch ? stretch.factor : chosen;
    let turn = itemAt(data.turns, turnAt(data, position));
    let beat = -1;
    const count = stretch && stretch.kind === "count" ? stretch.counted : null;
    if (count) {
      turn = data.turns[count.turn];
      beat = count.beats[lastAtMost(count.beats, into * factor + 1e-6, ({ at }) => at)].beat;
    } else if (turn && turn.kind !== "free") {
      const within = lastAtMost(turn.beats, position + TOLERANCE, (time) => time);
      beat = Math.min(within, turn.beats.length - 2) + firstBeat(data, turn);
    }
    if (!turn) return;
    const isFree = turn.kind === "free";
    const state = count ? "Count-in" : turnWords(turn);
    const isSinging = stretch !== null && stretch.kind === "sing";
    const seconds = isFree ? Math.ceil((turnEnd(turn) - position) / factor - TOLERANCE) : 0;
    const coming = sectionAt(data, position);
    const key = [seconds, turn.cycle, beat, state, turn.section, coming, isSinging, turn.kind].join(" ");
    if (key === this.key) return;
    this.key = key;
    this.setWords(turn, state, isSinging, itemAt(data.sections, coming));
    this.draw(turn.cycle);
    if (isFree) this.markSeconds(seconds);
    else this.markBeat(turn.cycle, beat);
    if (!count) this.announce(turn.section, shift);
  }

  /** @param {number} beat its index in the cycle; -1 for none */
  moveMark(beat) {
    itemAt(this.cells, this.here)?.classList.remove("here");
    this.here = beat;
    byId("beats").style.visibility = beat < 0 ? "hidden" : "";
  }

  /**
   * A free stretch counts no beats: the seconds that are left stand in their place.
   * @param {number} seconds
   */
  markSeconds(seconds) {
    this.moveMark(-1);
    byId("now").className = "open";
    const count = byId("count");
    count.className = seconds > 99 ? "long" : seconds > 9 ? "two" : "";
    setText(count, String(seconds));
    setText(byId("sign"), "sec.");
  }

  /**
   * @param {number} index of the cycle
   * @param {number} at of the beat
   */
  markBeat(index, at) {
    const beat = itemAt(data.cycles[index].beats, at);
    const cell = itemAt(this.cells, at);
    if (!beat || !cell) {
      this.markSeconds(0);
      return;
    }
    this.moveMark(at);
    cell.classList.add("here");
    this.scrollToBeat();
    const { sign, open } = beat;
    const kind = sign === "X" ? "sam" : sign && sign !== "0" ? "clap" : "";
    byId("now").className = open || sign === "0" ? `${kind} open`.trim() : kind;
    const name = cellName(beat.name);
    const count = byId("count");
    setText(count, name);
    count.className = name.length > 2 ? "long" : name.length > 1 ? "two" : "";
    setText(byId("sign"), signWords(sign));
  }

  /**
   * @param {Turn} turn
   * @param {string} state
   * @param {boolean} isSinging
   * @param {Section | undefined} section
   */
  setWords(turn, state, isSinging, section) {
    const line = byId("turn");
    const whole = turn.kind === "free" ? state : `${state} · ${data.cycles[turn.cycle].name}`;
    setText(byId("place"), sectionWords(section) || data.title);
    setText(line, isSinging ? `Sing it back · ${whole}` : whole);
    line.classList.toggle("sing", isSinging);
    // A text of another height leaves the beats another.
    if (byId("where").offsetHeight !== this.wordsHeight) this.fit();
    this.wordsHeight = byId("where").offsetHeight;
  }

  /**
   * Announce a change of section to screen readers, and nothing else: every beat would drown the music.
   * @param {number} at
   * @param {number} shift
   */
  announce(at, shift) {
    const section = itemAt(data.sections, at);
    if (!section || this.section === at) return;
    if (this.section !== null) {
      const mode = differs("mode") ? section.mode : "";
      const sa = `Sa is ${saIn(section, shift)}`;
      setText(byId("told"), [sectionWords(section), mode, sa].filter(Boolean).join(", "));
    }
    this.section = at;
  }
}

/** @param {Element} cell */
function cellLength(cell) {
  return cell instanceof HTMLElement ? Number(cell.style.getPropertyValue("--length")) : 1;
}

/**
 * The size of the digits in a cell of so many pixels.
 * @param {number} cell
 */
function digitSize(cell) {
  return Math.min(24, Math.max(11, cell < NARROW ? cell * 0.62 : cell * 0.55));
}

/**
 * The rows that groups of cells take in a room.
 * @param {number[][]} groups lengths of beats
 * @param {number} cell pixels of a beat
 * @param {number} room pixels of a row
 */
function rowCount(groups, cell, room) {
  let count = 1;
  let filled = 0;
  for (const group of groups) {
    const width = group.reduce((sum, length) => sum + length * cell, GROUP_BAR);
    if (filled && filled + GROUP_GAP + width > room) {
      count += 1;
      filled = 0;
    }
    filled += (filled ? GROUP_GAP : 0) + width;
    // A group longer than the row goes on in the next.
    if (filled > room) {
      const each = Math.max(1, Math.floor((room - GROUP_BAR) / cell));
      count += Math.ceil(group.length / each) - 1;
      filled = room;
    }
  }
  return count;
}
