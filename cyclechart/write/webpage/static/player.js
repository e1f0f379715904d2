// The player: turns the schedule into sound a moment ahead of the audio clock, and says where it is.

import { data, soundShift } from "./data.js";
import { AHEAD, DroneAlone, LEAD } from "./drone.js";
import { Schedule } from "./schedule.js";
import { RATE, sounds } from "./sounds.js";
import { Studio, Take } from "./studio.js";
import { turnStart } from "./turns.js";
import { Envelope } from "./waves.js";

/** @typedef {import("./settings.js").Settings} Settings */
/** @typedef {import("./stretches.js").PlayOptions} PlayOptions */
/** @typedef {import("./schedule.js").ScheduledEvent} ScheduledEvent */

/** @typedef {{context: AudioContext, studio: Studio, alone: DroneAlone}} Audio */

// A page in the background is woken once a second only.
const AHEAD_HIDDEN = 1.8;
const PUMP_MILLISECONDS = 50;
// Seconds from a change of the settings to its sound.
const SWITCH = 0.03;
// Seconds that the last strokes ring on.
const RINGING = 2;
const IDLE_MILLISECONDS = 4000;
const MOST_DECODING_MILLISECONDS = 150;

export class Player {
  /**
   * @param {Settings} settings
   * @param {(hasLeapt: boolean) => void} changed called at every start, stop and leap
   */
  constructor(settings, changed) {
    this.settings = settings;
    this.changed = changed;
    /** @type {"stopped" | "playing" | "paused"} */
    this.state = "stopped";
    this.position = 0;
    /** @type {Audio | null} */
    this.audio = null;
    /** @type {Take | null} */
    this.take = null;
    /** @type {Schedule | null} set as long as `take` is */
    this.schedule = null;
    /** @type {(ScheduledEvent & {audio: number})[]} what was handed over, with `record` on */
    this.scheduled = [];
    this.record = false;
    /** @type {WakeLockSentinel | null} */
    this.lock = null;
    this.idleTimer = 0;
  }

  get context() {
    return this.audio && this.audio.context;
  }

  get studio() {
    return this.audio && this.audio.studio;
  }

  get alone() {
    return this.audio && this.audio.alone;
  }

  /** The audio: its context is made by the first tap, for before that no browser lets it sound. */
  wake() {
    this.audio ??= this.openAudio();
    if (this.audio.context.state !== "running") void this.audio.context.resume();
    return this.audio;
  }

  openAudio() {
    const context = newContext();
    const studio = new Studio(context, this.settings);
    const hasDrone = data.voices.some((voice) => voice.role === "drone");
    const alone = new DroneAlone(studio, this.settings, () => this.take !== null && hasDrone);
    setInterval(() => this.pump(), PUMP_MILLISECONDS);
    document.addEventListener("visibilitychange", () => {
      // Before the page sleeps, enough for the time until it is woken.
      this.pump();
      if (!document.hidden && this.state === "playing") this.wake();
      void this.keepScreenOn();
    });
    return { context, studio, alone };
  }

  /** The screen stays on while the piece plays, where the browser can do that. */
  async keepScreenOn() {
    const isWanted = this.state === "playing" && !document.hidden;
    try {
      if (isWanted && (!this.lock || this.lock.released)) {
        this.lock = await navigator.wakeLock.request("screen");
      } else if (!isWanted && this.lock) await this.lock.release();
    } catch {
      // The screen may go dark then; nothing else depends on it.
    }
  }

  /** Start or stop the drone on its own, and the audio's rest after it. */
  updateDrone() {
    const { audio } = this;
    if (!audio) return;
    clearTimeout(this.idleTimer);
    this.idleTimer = setTimeout(() => void this.suspend(audio), IDLE_MILLISECONDS);
    audio.alone.update();
  }

  /**
   * With nothing to sound for a while the audio stops, which spares a phone's battery.
   * @param {Audio} audio
   */
  async suspend({ context, alone }) {
    const isNeeded = () => this.state === "playing" || alone.on;
    if (isNeeded()) return;
    await context.suspend();
    if (isNeeded()) void context.resume();
  }

  /** @returns {PlayOptions} */
  get options() {
    const { factor, loop, sing } = this.settings;
    return { factor, loop, sing, count: false };
  }

  async play() {
    const audio = this.wake();
    if (this.state === "playing") return;
    this.state = "playing";
    this.changed(true);
    void this.keepScreenOn();
    await this.prepare();
    if (!this.isAwaited()) return;
    this.warm(audio, this.position);
    this.start(audio, audio.context.currentTime + LEAD, this.settings.count);
  }

  /** Whether a start is still to come: it may have been stopped, or made, while sounds were decoded. */
  isAwaited() {
    return this.state === "playing" && !this.take;
  }

  /** Decode what sounds in the first moments, if it is not yet; anything else may come later. */
  async prepare() {
    const soon = new Schedule(data, this.position, this.options).until(1.5);
    const names = new Set();
    for (const event of soon) {
      if (event.kind !== "stroke") continue;
      const voice = data.voices[event.voice];
      names.add(voice.sounds[voice.strokes[event.index][1]]);
    }
    const closed = [...names].filter((name) => sounds.get(name) === undefined);
    if (!closed.length) return;
    const wait = new Promise((resolve) => {
      setTimeout(resolve, MOST_DECODING_MILLISECONDS);
    });
    await Promise.race([Promise.all(closed.map((name) => sounds.open(name))), wait]);
  }

  /**
   * Compute the waves of the first notes before their time is fixed, so that they are not late.
   * @param {Audio} audio
   * @param {number} position
   */
  warm({ studio }, position) {
    const soon = new Schedule(data, position, this.options).until(AHEAD);
    for (const event of soon) {
      if (event.kind !== "tone") continue;
      const { wave, tones } = data.voices[event.voice];
      const [, , cents, velocity] = tones[event.index];
      const hz = data.hertz * 2 ** ((cents + 100 * soundShift(this.settings)) / 1200);
      const shape = new Envelope(data.waves[wave], hz, velocity, event.length);
      for (const bright of shape.brights) studio.waves.at(wave, hz, bright);
      sounds.noise(wave);
    }
  }

  /**
   * @param {Audio} audio
   * @param {number} origin the audio time at which to start
   * @param {boolean} count
   * @param {"" | "play" | "sing"} [resume]
   */
  start({ studio }, origin, count, resume = "") {
    this.schedule = new Schedule(data, this.position, { ...this.options, count, resume });
    this.take = new Take(studio, origin, this.settings.factor, soundShift(this.settings));
    this.updateDrone();
    this.pump();
  }

  /** Hand over what is due in the next moments. */
  pump() {
    if (!this.audio) return;
    const now = this.audio.context.currentTime;
    const until = now + (document.hidden ? AHEAD_HIDDEN : AHEAD);
    this.audio.alone.pump(until);
    if (!this.take || !this.schedule) return;
    for (const event of this.schedule.until(until - this.take.origin)) {
      this.take.add(event);
      if (this.record) this.scheduled.push({ ...event, audio: this.take.origin + event.time });
    }
    this.take.tidy(now);
    if (now - this.take.origin > this.schedule.length + RINGING) this.stop();
  }

  /** The place that is heard now. */
  now() {
    if (!this.audio || !this.take || !this.schedule) {
      return { stretch: null, position: this.position, into: 0 };
    }
    const { context } = this.audio;
    const latency = context.outputLatency || context.baseLatency || 0;
    return this.schedule.at(context.currentTime - latency - this.take.origin);
  }

  /** Take back what was handed over, and end what sounds. */
  halt() {
    if (!this.audio || !this.take || !this.schedule) return;
    const now = this.audio.context.currentTime;
    this.position = this.schedule.at(now - this.take.origin).position;
    this.take.cancel(now, true);
    this.take = null;
    this.schedule = null;
  }

  pause() {
    if (this.state !== "playing") return;
    this.halt();
    this.state = "paused";
    this.updateDrone();
    this.changed(false);
    void this.keepScreenOn();
  }

  /** To the beginning: that of the loop, where there is one. */
  stop() {
    this.halt();
    this.state = "stopped";
    this.position = this.settings.loop ? turnStart(data.turns[this.settings.loop[0]]) : 0;
    this.updateDrone();
    this.changed(true);
    void this.keepScreenOn();
  }

  /** @param {number} position */
  go(position) {
    const isSounding = this.take !== null;
    this.halt();
    this.position = Math.min(Math.max(0, position), data.length);
    if (isSounding && this.audio) {
      this.warm(this.audio, this.position);
      this.start(this.audio, this.audio.context.currentTime + LEAD, this.settings.count);
    }
    this.changed(true);
  }

  /** After a change of tempo, Sa, loop or singing back: go on from here by the settings. */
  replan() {
    if (this.audio) this.audio.alone.retune();
    if (!this.audio || !this.take || !this.schedule) return;
    this.warm(this.audio, this.now().position);
    const now = this.audio.context.currentTime;
    const before = this.take;
    const begin = now + SWITCH;
    const { stretch, position } = this.schedule.at(begin - before.origin);
    const kind = stretch ? stretch.kind : "play";
    this.position = position;
    before.cancel(now, false);
    before.bend(soundShift(this.settings), now);
    this.start(this.audio, begin, kind === "count", kind === "count" ? "" : kind);
    // Strings that ring over from before are damped when they are plucked again.
    this.take.strokes.push(...before.strokes.filter((stroke) => stroke.when <= now));
    for (const [key, stroke] of before.strings) {
      if (stroke.when <= now && !this.take.strings.has(key)) this.take.strings.set(key, stroke);
    }
  }
}

function newContext() {
  try {
    return new AudioContext({ sampleRate: RATE, latencyHint: "interactive" });
  } catch {
    return new AudioContext();
  }
}
