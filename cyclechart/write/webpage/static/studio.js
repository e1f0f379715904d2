// Where all sound goes: a strip for each voice, the room, the level, and no peak over full scale.

const SAFE = 0.8;
const ABOVE = 4;
// How a stroke's level goes with its velocity, as where the strokes were made.
const STEEP = 1.6;
const CLAP_LEVEL = -6;
const DRONE_LEVEL = -7;
const DRONE_ROOM = -15;

/** Straight up to SAFE, bent softly above: only what would clip is touched. */
function safety() {
  const points = 8193;
  return Float32Array.from({ length: points }, (_, at) => {
    const value = ABOVE * ((2 * at) / (points - 1) - 1);
    const size = Math.abs(value);
    const bent = size <= SAFE ? size : SAFE + (1 - SAFE) * Math.tanh((size - SAFE) / (1 - SAFE));
    return Math.sign(value) * bent;
  });
}

class Studio {
  /** settings: `level` dB, and for each voice `levels` (dB) and `muted`. */
  constructor(context, settings) {
    this.context = context;
    this.waves = new Waves(context, data.waves);
    this.counted = countSounds(data);
    this.level = new GainNode(context, { gain: factorOf(settings.level) / ABOVE });
    this.level.connect(new WaveShaperNode(context, { curve: safety() })).connect(context.destination);
    this.room = new GainNode(context, { gain: 1 });
    this.strips = data.voices.map((voice, at) => {
      const gain = settings.muted[at] ? 0 : factorOf(voice.level + settings.levels[at]);
      return this.strip(gain, voice.pan, voice.room);
    });
    // The count before a start is as loud as the piece's own count.
    const counts = data.voices.findIndex((voice) => voice.role === "count");
    this.hands = counts >= 0 ? this.strips[counts] : this.strip(factorOf(CLAP_LEVEL), 0, -30);
    const drone = data.voices.findIndex((voice) => voice.role === "drone");
    const level = DRONE_LEVEL + (drone >= 0 ? settings.levels[drone] : 0);
    this.drone = this.strip(factorOf(level), 0, DRONE_ROOM);
    if (data.room) {
      // The room may be opened later than the first note; till then it does not answer.
      this.furnished = this.furnish();
    }
  }

  async furnish() {
    await sounds.open("room");
    const buffer = sounds.get("room");
    if (!buffer || buffer.sampleRate !== this.context.sampleRate) return;
    const answer = new ConvolverNode(this.context, { buffer, disableNormalization: true });
    this.room.connect(answer).connect(this.level);
  }

  strip(gain, pan, room) {
    const strip = new GainNode(this.context, { gain });
    strip.connect(new StereoPannerNode(this.context, { pan })).connect(this.level);
    strip.connect(new GainNode(this.context, { gain: factorOf(room) })).connect(this.room);
    return strip;
  }

  noise(wave) {
    return sounds.noise(wave);
  }

  setLevel(decibels) {
    this.turn(this.level.gain, factorOf(decibels) / ABOVE);
  }

  setVoice(at, muted, decibels) {
    const { level, role } = data.voices[at];
    this.turn(this.strips[at].gain, muted ? 0 : factorOf(level + decibels));
    // Silent in the piece, it can still be asked for on its own.
    if (role === "drone") this.turn(this.drone.gain, factorOf(DRONE_LEVEL + decibels));
  }

  /** Change a gain without a click. */
  turn(param, value) {
    param.setTargetAtTime(value, this.context.currentTime, 0.012);
  }
}

/** A recorded sound at a time; `gain` beside how it was struck, `rate` its speed. */
function soundBuffer(context, out, when, buffer, gain, rate) {
  const level = new GainNode(context, { gain });
  const source = new AudioBufferSourceNode(context, { buffer, playbackRate: rate });
  source.connect(level).connect(out);
  source.onended = () => level.disconnect();
  source.start(when);
  return { source, level, when, gain };
}

/** A string's ringing is ended by the finger that plucks it again. */
const TOUCHED = 0.025;

function damp(stroke, when) {
  if (when < stroke.when) {
    stroke.source.stop(0);
    return;
  }
  stroke.level.gain.setValueAtTime(stroke.gain, when);
  stroke.level.gain.linearRampToValueAtTime(0, when + TOUCHED);
  stroke.source.stop(when + TOUCHED + 0.005);
}

/** Everything of one road that was handed to the audio clock, so that it can be taken back. */
class Take {
  constructor(studio, origin, factor, shift) {
    this.studio = studio;
    this.origin = origin;
    this.factor = factor;
    this.shift = shift;
    this.gates = studio.strips.map((strip) => {
      const gate = new GainNode(studio.context, { gain: 1 });
      gate.connect(strip);
      return gate;
    });
    this.tones = [];
    this.strokes = [];
    this.strings = new Map();
  }

  /** Hand over an event of a road. */
  add(event) {
    const { context } = this.studio;
    const when = Math.max(this.origin + event.time, context.currentTime);
    if (event.kind === "clap") {
      const own = this.studio.counted.get(event.sign);
      const heard = own && sounds.get(own.name);
      const gain = heard ? (own.velocity / data.sounds[own.name].velocity) ** STEEP : 1;
      const clap = heard || sounds.clap(event.sign);
      this.strokes.push(soundBuffer(context, this.studio.hands, when, clap, gain, 1));
      return;
    }
    const voice = data.voices[event.voice];
    if (event.kind === "tone") {
      const [, , cents, velocity, curve] = voice.tones[event.index];
      const hz = data.hertz * 2 ** ((cents + 100 * this.shift) / 1200);
      const { length, skip } = event;
      const note = { wave: voice.wave, hz, velocity, length, skip, curve, factor: this.factor };
      const sources = soundTone(this.studio, this.gates[event.voice], when, note);
      this.tones.push({ when, ends: when + length + 1, sources });
    } else {
      this.strike(voice, event.voice, voice.strokes[event.index], when);
    }
  }

  strike(voice, number, [, sound, velocity], when) {
    const name = voice.sounds[sound];
    const buffer = sounds.get(name);
    if (!buffer) return;
    const { cents, velocity: struck } = data.sounds[name];
    const moves = cents !== null;
    const gain = (velocity / struck) ** STEEP;
    const rate = moves ? 2 ** (this.shift / 12) : 1;
    const made = soundBuffer(this.studio.context, this.studio.strips[number], when, buffer, gain, rate);
    made.moves = moves;
    made.ends = when + buffer.duration / rate;
    this.strokes.push(made);
    if (moves) {
      const key = `${number} ${sound}`;
      const before = this.strings.get(key);
      if (before && before.ends > when) damp(before, when);
      this.strings.set(key, made);
    }
  }

  /** Forget what is over. */
  tidy(now) {
    this.tones = this.tones.filter((tone) => tone.ends > now);
    this.strokes = this.strokes.filter((stroke) => !(stroke.ends < now) && !(stroke.when < now - 9));
  }

  /** Take back what has not begun, end what is held; `all`: also what rings. */
  cancel(now, all) {
    for (const gate of this.gates) {
      gate.gain.setValueAtTime(1, now);
      gate.gain.linearRampToValueAtTime(0, now + 0.03);
    }
    for (const tone of this.tones) for (const source of tone.sources) source.stop(now + 0.035);
    for (const stroke of this.strokes) if (all || stroke.when > now) damp(stroke, now);
  }

  /** Strings that ring on when Sa is moved go with it at once. */
  bend(shift, now) {
    for (const stroke of this.strokes) {
      if (stroke.moves && stroke.when <= now) {
        stroke.source.playbackRate.setTargetAtTime(2 ** (shift / 12), now, 0.008);
      }
    }
  }
}
