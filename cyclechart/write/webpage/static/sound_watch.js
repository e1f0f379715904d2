// Whether the sound really comes: an audio context may be suspended from outside, or its clock stand.

// A clock that stands for so many looks is no clock.
const MOST_STILL = 40;

export class SoundWatch {
  /**
   * @param {AudioContext} context
   * @param {() => void} changed
   */
  constructor(context, changed) {
    this.context = context;
    this.changed = changed;
    this.time = -1;
    this.still = 0;
    context.addEventListener("statechange", () => this.changed());
  }

  get isStalled() {
    return this.still >= MOST_STILL;
  }

  get isRunning() {
    return this.context.state === "running" && !this.isStalled;
  }

  /** Look at the clock; called regularly. */
  check() {
    const { currentTime, state } = this.context;
    const was = this.isStalled;
    const isStill = state === "running" && currentTime === this.time;
    this.still = isStill ? this.still + 1 : 0;
    this.time = currentTime;
    if (this.isStalled !== was) this.changed();
  }

  /** Let it sound again; only what the player of the page presses may do that. */
  resume() {
    const ignore = () => {};
    // A device that cannot sound answers late or never: what is shown follows the state alone.
    if (this.isStalled) this.context.suspend().then(() => this.context.resume(), ignore).catch(ignore);
    else if (this.context.state !== "running") this.context.resume().catch(ignore);
  }
}
