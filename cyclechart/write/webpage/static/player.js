// The player: turns the road into sound a moment ahead of the audio clock, and says where it is.

const AHEAD = 0.25;
// A page in the background is woken once a second only.
const AHEAD_HIDDEN = 1.8;
const EVERY = 50;
const LEAD = 0.05;
const SWITCH = 0.03;
// Seconds that what was struck last rings on.
const RINGS = 2;

class Player {
  /** `changed(leapt)` is told of every start, stop and leap: whether the place is to be looked up anew. */
  constructor(settings, changed) {
    this.settings = settings;
    this.changed = changed;
    this.state = "stopped";
    this.position = 0;
    this.context = null;
    this.studio = null;
    this.take = null;
    this.road = null;
    this.alone = null;
    this.scheduled = [];
    this.record = false;
    this.lock = null;
    this.resting = 0;
  }

  /** The audio context is made by the first tap: before that no browser lets it sound. */
  wake() {
    if (!this.context) {
      try {
        this.context = new AudioContext({ sampleRate: RATE, latencyHint: "interactive" });
      } catch {
        this.context = new AudioContext();
      }
      this.studio = new Studio(this.context, this.settings);
      this.alone = new DroneAlone(this);
      setInterval(() => this.pump(), EVERY);
      document.addEventListener("visibilitychange", () => {
        // Before the page sleeps, enough for the time until it is woken.
        this.pump();
        if (!document.hidden && this.state === "playing") this.wake();
        this.stayLit();
      });
    }
    if (this.context.state !== "running") this.context.resume();
  }

  /** The screen stays lit while the piece plays, where the browser can do that. */
  async stayLit() {
    const wanted = this.state === "playing" && !document.hidden;
    try {
      if (wanted && (!this.lock || this.lock.released)) {
        this.lock = await navigator.wakeLock.request("screen");
      } else if (!wanted && this.lock) await this.lock.release();
    } catch {
      // The screen may go dark then; nothing else depends on it.
    }
  }

  /** With nothing to sound for a while the audio stops, which spares a phone's battery. */
  rest() {
    clearTimeout(this.resting);
    this.resting = setTimeout(async () => {
      if (this.state === "playing" || this.alone.on) return;
      await this.context.suspend();
      if (this.state === "playing" || this.alone.on) this.context.resume();
    }, 4000);
  }

  get ask() {
    const { factor, loop, sing } = this.settings;
    return { factor, loop, sing, count: false };
  }

  async play() {
    this.wake();
    if (this.state === "playing") return;
    this.state = "playing";
    this.changed(true);
    this.stayLit();
    await this.prepare();
    if (this.state !== "playing" || this.take) return;
    this.warm(this.position, this.settings.factor);
    this.start(this.context.currentTime + LEAD, this.settings.count);
  }

  /** Open what sounds in the first moments, if it is not open yet; anything else may come later. */
  async prepare() {
    const soon = new Road(data, this.position, this.ask).until(1.5);
    const wanted = soon
      .filter((event) => event.kind === "stroke")
      .map(({ voice, index }) => data.voices[voice].sounds[data.voices[voice].strokes[index][1]]);
    const closed = [...new Set(wanted)].filter((name) => sounds.get(name) === undefined);
    if (!closed.length) return;
    const wait = new Promise((go) => setTimeout(go, 150));
    await Promise.race([Promise.all(closed.map((name) => sounds.open(name))), wait]);
  }

  /** Make the waves of the first notes before their time is fixed, so that they are not late. */
  warm(position, factor) {
    const soon = new Road(data, position, { ...this.ask, factor }).until(AHEAD);
    for (const event of soon) {
      if (event.kind !== "tone") continue;
      const { wave, tones } = data.voices[event.voice];
      const hz = data.hertz * 2 ** ((tones[event.index][2] + 100 * this.settings.shift) / 1200);
      const shape = new Shape(data.waves[wave], hz, tones[event.index][3], event.length);
      for (const bright of shape.brights) this.studio.waves.at(wave, hz, bright);
      sounds.noise(wave);
    }
  }

  start(origin, count, resume) {
    const { factor, shift } = this.settings;
    this.road = new Road(data, this.position, { ...this.ask, count, resume });
    this.take = new Take(this.studio, origin, factor, shift);
    this.alone.update();
    this.pump();
  }

  pump() {
    const now = this.context.currentTime;
    this.alone.pump(now + (document.hidden ? AHEAD_HIDDEN : AHEAD));
    if (!this.take) return;
    const until = now + (document.hidden ? AHEAD_HIDDEN : AHEAD) - this.take.origin;
    for (const event of this.road.until(until)) {
      this.take.add(event);
      if (this.record) this.scheduled.push({ ...event, audio: this.take.origin + event.time });
    }
    this.take.tidy(now);
    if (now - this.take.origin > this.road.length + RINGS) this.stop();
  }

  /** Where the ear is now: the stretch, the piece's time, and how far into the stretch. */
  now() {
    if (!this.take) return { stretch: null, position: this.position, into: 0 };
    const late = this.context.outputLatency || this.context.baseLatency || 0;
    return this.road.at(this.context.currentTime - late - this.take.origin);
  }

  halt(all) {
    if (!this.take) return;
    this.position = this.road.at(this.context.currentTime - this.take.origin).position;
    this.take.cancel(this.context.currentTime, all);
    this.take = null;
    this.road = null;
  }

  pause() {
    if (this.state !== "playing") return;
    this.halt(true);
    this.state = "paused";
    this.alone.update();
    this.changed(false);
    this.stayLit();
  }

  /** To the beginning: of the stretch that goes round, where there is one. */
  stop() {
    this.halt(true);
    this.state = "stopped";
    this.position = this.settings.loop ? turnStart(data.turns[this.settings.loop[0]]) : 0;
    if (this.alone) this.alone.update();
    this.changed(true);
    this.stayLit();
  }

  go(position) {
    const playing = this.take;
    this.halt(true);
    this.position = Math.min(Math.max(0, position), data.length);
    if (playing) this.warm(this.position, this.settings.factor);
    if (playing) this.start(this.context.currentTime + LEAD, this.settings.count);
    this.changed(true);
  }

  /** Tempo, Sa, loop or singing back was changed: go on from here by what is set now. */
  replan() {
    if (this.alone) this.alone.retune();
    if (!this.take) return;
    this.warm(this.now().position, this.settings.factor);
    const now = this.context.currentTime;
    const before = this.take;
    const old = this.road;
    const begin = now + SWITCH;
    const { stretch, position } = old.at(begin - before.origin);
    this.position = position;
    before.cancel(now, false);
    before.bend(this.settings.shift, now);
    this.start(begin, stretch.kind === "count", stretch.kind === "count" ? "" : stretch.kind);
    // Strings that ring over from before are damped when they are plucked again.
    this.take.strokes.push(...before.strokes.filter((stroke) => stroke.when <= now));
    for (const [key, stroke] of before.strings) {
      if (stroke.when <= now && !this.take.strings.has(key)) this.take.strings.set(key, stroke);
    }
  }
}

/** The drone without the piece: its strings in turn, as long as the piece's own does not play. */
class DroneAlone {
  constructor(player) {
    this.player = player;
    this.on = false;
    this.next = 0;
    this.at = 0;
    this.ringing = [];
  }

  get every() {
    return 4.2 / Math.max(4, data.drone.length);
  }

  get wanted() {
    const own = this.player.take && data.voices.some((voice) => voice.role === "drone");
    return this.player.settings.drone && data.drone.length > 0 && !own;
  }

  update() {
    const { context } = this.player;
    if (this.player.rest) this.player.rest();
    if (this.wanted === this.on) return;
    this.on = this.wanted;
    if (this.on) {
      this.next = 0;
      this.at = context.currentTime + (context.startRendering ? 0 : LEAD);
      this.pump(context.currentTime + AHEAD);
    } else {
      for (const one of this.ringing) damp(one, context.currentTime);
      this.ringing = [];
    }
  }

  pump(until) {
    if (!this.on) return;
    const { context, studio, settings } = this.player;
    this.at = Math.max(this.at, context.currentTime);
    while (this.at < until) {
      const [, name] = data.drone[this.next % data.drone.length];
      const buffer = sounds.get(name);
      if (buffer === undefined) {
        sounds.open(name);
        this.at += 0.02;
        continue;
      }
      const before = this.ringing.find((one) => one.name === name);
      if (before) damp(before, this.at);
      this.ringing = this.ringing.filter((one) => one.name !== name);
      if (buffer) {
        const rate = 2 ** (settings.shift / 12);
        const made = soundBuffer(context, studio.drone, this.at, buffer, 1, rate);
        this.ringing.push({ ...made, name });
      }
      this.next += 1;
      this.at += this.every;
      // Whole periods of the middle Sa apart, so that a string plucked again stays one tone.
      const hertz = data.hertz * 2 ** (settings.shift / 12 - 2);
      this.at = Math.round(this.at * hertz) / hertz;
    }
  }

  retune() {
    const rate = 2 ** (this.player.settings.shift / 12);
    const now = this.player.context.currentTime;
    for (const one of this.ringing) one.source.playbackRate.setTargetAtTime(rate, now, 0.008);
  }
}
