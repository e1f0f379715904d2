// The choice of a place and of a loop in the engraved part: by taps, by dragging over bars, by keys.

import { nearestBar } from "./bars.js";
import { byId, data, itemAt } from "./data.js";
import { turnAt, turnEnd, turnStart } from "./turns.js";

/** @typedef {import("./actions.js").Actions} Actions */
/** @typedef {import("./bars.js").BarView} BarView */
/** @typedef {import("./bars.js").PlayedBar} PlayedBar */
/** @typedef {import("./stretches.js").TimeRange} TimeRange */
/** @typedef {{start: number, end: number}} Bar */

// Pixels that a pointer may wander in a tap.
const WANDER = 8;
// A finger that rests so long wants to choose, not to scroll.
const HOLD_MILLISECONDS = 350;
// Near an edge the part scrolls along, by so many pixels a frame.
const EDGE = 36;
const SCROLL_STEP = 7;

/** @param {Bar[]} bars @returns {TimeRange} */
function rangeOf(bars) {
  return [Math.min(...bars.map(({ start }) => start)), Math.max(...bars.map(({ end }) => end))];
}

export class LoopChoice {
  /**
   * @param {Actions} actions
   * @param {BarView} barView
   * @param {() => void} changed
   */
  constructor(actions, barView, changed) {
    this.actions = actions;
    this.barView = barView;
    this.changed = changed;
    /** Whether the next two taps choose a loop. */
    this.isOn = false;
    /** @type {Bar | null} the bar of the first tap */
    this.first = null;
    /** @type {{x: number, y: number, bar: PlayedBar, isTouch: boolean} | null} a pointer that is down */
    this.press = null;
    /** @type {TimeRange | null} what is dragged over */
    this.range = null;
    this.pointer = { x: 0, y: 0 };
    this.holdTimer = 0;
    /** The click after a drag is no tap. */
    this.isSpent = false;
    this.listen();
  }

  listen() {
    const score = byId("score");
    score.addEventListener("click", (event) => this.click(event));
    score.addEventListener("pointerdown", (event) => this.down(event));
    addEventListener("pointermove", (event) => this.move(event));
    addEventListener("pointerup", () => this.up());
    addEventListener("pointercancel", () => this.drop());
    // While a finger chooses, the part does not scroll, and no menu opens.
    score.addEventListener("touchmove", (event) => {
      if (this.range && event.cancelable) event.preventDefault();
    }, { passive: false });
    score.addEventListener("contextmenu", (event) => {
      if (this.range) event.preventDefault();
    });
    document.addEventListener("keydown", (event) => this.key(event));
  }

  /**
   * The bar at a point, as it is played nearest to a time.
   * @param {number} x
   * @param {number} y
   * @param {number} [time]
   */
  barAt(x, y, time = this.actions.player.now().position) {
    const id = this.barView.idAt(x, y);
    return id === null ? null : nearestBar(this.barView.bars, id, time);
  }

  /** @param {MouseEvent} event */
  click(event) {
    if (this.isSpent) {
      this.isSpent = false;
      event.stopImmediatePropagation();
      return;
    }
    const bar = this.barAt(event.clientX, event.clientY, this.first?.start);
    if (!bar) return;
    if (this.isOn) {
      event.stopImmediatePropagation();
      this.take(bar);
    } else if (!data.live || this.actions.player.state !== "playing") {
      // While a piece is written a tap leads into its text, too, and does not disturb what plays.
      this.actions.bar(bar.start);
    }
  }

  /** Begin to choose: the next two bars are the first and the last of the loop. */
  begin() {
    this.isOn = true;
    this.first = null;
    this.changed();
  }

  /** End the choice without a loop. */
  end() {
    this.isOn = false;
    this.first = null;
    this.changed();
  }

  /** @param {Bar} bar that is the first or the last of the loop */
  take(bar) {
    if (!this.first) {
      this.first = bar;
      this.changed();
      return;
    }
    const range = rangeOf([this.first, bar]);
    this.end();
    this.actions.loopSpan(...range);
  }

  /** Take the cycle that is heard now as the first or the last of the loop. */
  takeHere() {
    const turn = itemAt(data.turns, turnAt(data, this.actions.player.now().position));
    if (turn) this.take({ start: turnStart(turn), end: turnEnd(turn) });
  }

  /** What is being chosen, to be shown. */
  get chosen() {
    if (this.range) return this.range;
    return this.first ? rangeOf([this.first]) : null;
  }

  /** @param {PointerEvent} event */
  down(event) {
    this.drop();
    this.isSpent = false;
    if (event.button !== 0 || !event.isPrimary) return;
    const { clientX: x, clientY: y } = event;
    const bar = this.barAt(x, y, this.first?.start);
    if (!bar) return;
    const isTouch = event.pointerType === "touch";
    this.press = { x, y, bar, isTouch };
    this.pointer = { x, y };
    if (isTouch) this.holdTimer = setTimeout(() => this.drag(), HOLD_MILLISECONDS);
  }

  /** @param {PointerEvent} event */
  move({ clientX: x, clientY: y, isPrimary }) {
    if (!this.press || !isPrimary) return;
    this.pointer = { x, y };
    const hasMoved = Math.hypot(x - this.press.x, y - this.press.y) > WANDER;
    if (this.range) this.reach();
    else if (hasMoved && this.press.isTouch) this.drop();
    else if (hasMoved) this.drag();
  }

  /** Begin to choose the bars under the pointer. */
  drag() {
    if (!this.press) return;
    this.range = rangeOf([this.press.bar]);
    this.reach();
    const scroll = () => {
      if (!this.range) return;
      const score = byId("score");
      const { top, bottom } = score.getBoundingClientRect();
      const by = this.pointer.y < top + EDGE ? -SCROLL_STEP : this.pointer.y > bottom - EDGE ? SCROLL_STEP : 0;
      if (by) {
        score.scrollBy(0, by);
        this.reach();
      }
      requestAnimationFrame(scroll);
    };
    requestAnimationFrame(scroll);
  }

  /** Choose from the bar where the pointer went down to that where it is. */
  reach() {
    if (!this.press) return;
    const { bar } = this.press;
    const last = this.barAt(this.pointer.x, this.pointer.y, bar.start);
    if (last) this.range = rangeOf([bar, last]);
    this.changed();
  }

  up() {
    const { range } = this;
    this.drop();
    if (!range) return;
    this.isSpent = true;
    setTimeout(() => {
      this.isSpent = false;
    }, 60);
    this.isOn = false;
    this.first = null;
    this.actions.loopSpan(...range);
    this.changed();
  }

  /** The pointer that was down chooses nothing. */
  drop() {
    clearTimeout(this.holdTimer);
    const wasDragging = this.range !== null;
    this.press = null;
    this.range = null;
    if (wasDragging) this.changed();
  }

  /**
   * Escape ends the choice, or else the loop; while a loop is chosen, Enter takes the present cycle.
   * @param {KeyboardEvent} event
   */
  key(event) {
    if (event.defaultPrevented || event.ctrlKey || event.metaKey || event.altKey) return;
    const isElsewhere = event.target instanceof Element && event.target.closest("button, select, input, a, textarea");
    if (event.key === "Enter" && this.isOn && !isElsewhere) {
      event.preventDefault();
      this.takeHere();
    } else if (event.key === "Escape" && (this.range || this.isOn)) {
      event.preventDefault();
      this.drop();
      this.end();
    } else if (event.key === "Escape" && this.actions.settings.loop && byId("score").inert === false) {
      event.preventDefault();
      this.actions.loop(false);
    }
  }
}
