// The player: turns the schedule into sound a moment ahead of the audio clock, and says where it is.

import { data, soundShift } from "./data.js";
import { AHEAD, DroneAlone, LEAD } from "./drone.js";
import { Schedule } from "./schedule.js";
import { SoundWatch } from "./sound_watch.js";
import { RATE, sounds } from "./sounds.js";
import { Studio, Take } from "./studio.js";
import { loopTimes } from "./stretches.js";
import { Envelope } from "./waves.js";

/** @typedef {import("./settings.js").Settings} Settings */
/** @typedef {import("./stretches.js").PlayOptions} PlayOptions */
/** @typedef {import("./schedule.js").ScheduledEvent} ScheduledEvent */

/** @typedef {{context: AudioContext, watch: SoundWatch, studio: Studio, alone: DroneAlone}} Audio */

// A page in the background is woken once a second only.
const AHEAD_HIDDEN = 1.8;
const PUMP_MILLISECONDS = 50;
// Seconds from a change of the settings to its sound.
const SWITCH = 0.03;
// Seconds that the last strokes ring on.
const RINGING = 2;
const IDLE_MILLISECONDS = 4000;
const MOST_DECODING_MILLISECONDS = 150;
// So long the sound may take to begin before its absence is told.
const WAKING_MILLISECONDS = 700;

export class Player {
  /**
   * @param {Settings} settings
   * @param {(hasLeapt: boolean) => void} changed called at every start, stop and leap, at a new tempo,
   *   and where the sound stops or comes back
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
    /** The round of the loop that is begun next. */
    this.round = 1;
    /** Whether the loop was chosen since it was planned: its rounds are counted anew. */
    this.isNewLoop = false;
    /** The tempo as it was last planned. */
    this.factor = settings.factor;
    /** Since when there has been no sound that should be there, by the page's clock. */
    this.missingSince = Infinity;
    this.isCut = false;
    this.wasRunning = false;
    this.isListening = false;
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

  /** Whether the piece plays and is heard: its state alone is only what is wanted. */
  get isSounding() {
    return this.state === "playing" && this.audio !== null && this.audio.watch.isRunning;
  }

  /** The audio: its context is made by the first tap, for before that no browser lets it sound. */
  wake() {
    if (this.audio?.context.state === "closed") this.leaveAudio();
    if (!this.audio) {
      this.audio = this.openAudio();
      this.listen();
    }
    this.audio.watch.resume();
    return this.audio;
  }

  /** A press on play: on, off, or on again where the sound was stopped from outside. */
  toggle() {
    if (this.isSounding) {
      this.pause();
      return;
    }
    void this.play();
  }

  /** A context that was closed cannot sound again: the next one begins at the place of this one. */
  leaveAudio() {
    this.halt();
    if (this.state === "playing") this.state = "paused";
    this.audio = null;
  }

  openAudio() {
    const context = newContext();
    const watch = new SoundWatch(context, () => this.checkSound());
    const studio = new Studio(context, this.settings);
    const hasDrone = data.voices.some((voice) => voice.role === "drone");
    const alone = new DroneAlone(studio, this.settings, () => this.take !== null && hasDrone);
    return { context, watch, studio, alone };
  }

  listen() {
    if (this.isListening) return;
    this.isListening = true;
    setInterval(() => {
      this.audio?.watch.check();
      this.checkSound();
      this.pump();
    }, PUMP_MILLISECONDS);
    document.addEventListener("visibilitychange", () => {
      // Before the page sleeps, enough for the time until it is woken.
      this.pump();
      if (!document.hidden && this.state === "playing") this.wake();
      void this.keepScreenOn();
    });
  }

  /** Tell where the sound stops though it is wanted, or comes back. */
  checkSound() {
    if (!this.audio) return;
    const { watch, alone } = this.audio;
    const isMissing = (this.state === "playing" || alone.on) && !watch.isRunning;
    const now = performance.now();
    const wasMissing = this.missingSince < Infinity;
    if (isMissing !== wasMissing) this.missingSince = isMissing ? now : Infinity;
    const isCut = isMissing && now - this.missingSince >= WAKING_MILLISECONDS;
    const hasChanged = isMissing !== wasMissing || isCut !== this.isCut || watch.isRunning !== this.wasRunning;
    this.isCut = isCut;
    this.wasRunning = watch.isRunning;
    if (hasChanged) this.changed(false);
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
    const { factor, loop, span, sing, countLength, faster } = this.settings;
    const steps = faster.on ? faster : null;
    return { factor, loop, span, sing, count: false, countLength, faster: steps, round: this.round };
  }

  async play() {
    const audio = this.wake();
    if (this.state === "playing") return;
    if (this.state === "stopped") this.beginSteps();
    this.state = "playing";
    this.changed(true);
    void this.keepScreenOn();
    await this.prepare();
    if (!this.isAwaited()) return;
    this.warm(audio, this.position);
    this.start(audio, audio.context.currentTime + LEAD, this.settings.count);
  }

  /** A loop that gets faster begins at its slowest. */
  beginSteps() {
    this.round = 1;
    const { faster, loop } = this.settings;
    if (faster.on && loop) this.settings.factor = Math.min(faster.from, faster.to) / 100;
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
    this.factor = this.settings.factor;
    this.schedule = new Schedule(data, this.position, { ...this.options, count, resume });
    this.take = new Take(studio, origin, soundShift(this.settings));
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
      const isAdded = this.take.add(event, now);
      if (this.record && isAdded) this.scheduled.push({ ...event, audio: this.take.origin + event.time });
    }
    this.take.tidy(now);
    this.followTempo();
    if (now - this.take.origin > this.schedule.length + RINGING) this.stop();
  }

  /** Take over the tempo of a loop that has got faster, once that is heard. */
  followTempo() {
    const { stretch } = this.now();
    if (!stretch || stretch.factor === this.factor) return;
    if (this.settings.factor === this.factor) this.settings.factor = stretch.factor;
    this.factor = stretch.factor;
    this.changed(false);
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
    const { stretch, position } = this.schedule.at(now - this.take.origin);
    this.position = position;
    this.round = stretch ? stretch.round : 1;
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
    const { loop, span } = this.settings;
    this.position = loop ? loopTimes(data, loop, span)[0] : 0;
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
    this.round = stretch && !this.isNewLoop ? stretch.round : 1;
    this.isNewLoop = false;
    // A step of the tempo that was not heard yet holds, unless another was chosen.
    if (stretch && this.settings.factor === this.factor) this.settings.factor = stretch.factor;
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
