// The harmonic tables of the voices as waves for oscillators, and how level and brightness go.

const REFERENCE_HZ = 261.63;
const USUAL_VELOCITY = 86;
const USUAL_RMS = 0.1;
const FLOOR = 3e-5;
// Waves are made for every third semitone and some steps of brightness: each costs time and memory.
const APART = 3;
const BRIGHTS = 8;
const KEPT = 72;

/** 1 or -1: which partials are turned over (Rudin-Shapiro), as in the tables themselves. */
function signOf(partial) {
  const at = partial - 1;
  let pairs = at & (at >> 1);
  let odd = 0;
  for (; pairs; pairs &= pairs - 1) odd ^= 1;
  return odd ? -1 : 1;
}

/** Amplitudes of sines, partial 1 first, of RMS 1, between the zones around a pitch. */
function partialsOf(wave, hz, bright, top) {
  const { zones } = wave;
  let above = zones.findIndex((zone) => zone.hz >= hz);
  if (above < 0) above = zones.length - 1;
  const upper = zones[above];
  const lower = zones[Math.max(0, above - 1)];
  const part =
    upper === lower
      ? 0
      : Math.min(1, Math.max(0, Math.log(hz / lower.hz) / Math.log(upper.hz / lower.hz)));
  const at = Math.min(1, Math.max(0, bright)) * (upper.levels.length - 1);
  const row = Math.min(Math.floor(at), Math.max(0, upper.levels.length - 2));
  const log = (zone, level, index) =>
    Math.log(Math.max(FLOOR, Math.abs(zone.levels[Math.min(level, zone.levels.length - 1)][index] || 0)));
  const count = Math.min(
    Math.max(upper.levels[0].length, lower.levels[0].length),
    Math.max(1, Math.floor(top / hz)),
  );
  const found = new Float32Array(count);
  let power = 0;
  for (let index = 0; index < count; index += 1) {
    const [soft, loud] = [row, row + 1].map(
      (level) => log(lower, level, index) * (1 - part) + log(upper, level, index) * part,
    );
    let level = Math.exp(soft + (at - row) * (loud - soft));
    if (level <= FLOOR * 1.0001) level = 0;
    power += level * level;
    found[index] = level * signOf(index + 1);
  }
  const scale = Math.sqrt(2 / power);
  return found.map((level) => level * scale);
}

/** Oscillators' waves of one audio context, made when first wanted. */
class Waves {
  constructor(context, waves) {
    this.context = context;
    this.waves = waves;
    this.made = new Map();
  }

  at(name, hz, bright) {
    const step = Math.round((12 * Math.log2(hz / REFERENCE_HZ)) / APART);
    const level = Math.round(Math.min(1, Math.max(0, bright)) * BRIGHTS);
    const key = `${name} ${step} ${level}`;
    let wave = this.made.get(key);
    if (wave) this.made.delete(key);
    else wave = this.make(name, REFERENCE_HZ * 2 ** ((step * APART) / 12), level / BRIGHTS);
    this.made.set(key, wave);
    if (this.made.size > KEPT) this.made.delete(this.made.keys().next().value);
    return wave;
  }

  make(name, hz, bright) {
    const partials = partialsOf(this.waves[name], hz, bright, 0.45 * this.context.sampleRate);
    const sines = new Float32Array(partials.length + 1);
    sines.set(partials, 1);
    const options = { real: new Float32Array(sines.length), imag: sines, disableNormalization: true };
    return new PeriodicWave(this.context, options);
  }
}

/** How a note of a voice goes: seconds are from the note's own beginning. */
class Shape {
  constructor(wave, hz, velocity, length) {
    this.wave = wave;
    this.length = length;
    this.gain = USUAL_RMS * wave.gain * (velocity / USUAL_VELOCITY) ** 1.5;
    this.fade = wave.fade * (hz / REFERENCE_HZ) ** wave.fade_by_pitch;
    this.attack = Math.max(0.001, Math.min(wave.attack, length / 2));
    this.bright = wave.soft + ((wave.loud - wave.soft) * (velocity - 1)) / 126;
    this.dull = this.bright * wave.keeps * (1 - wave.bloom);
  }

  /** The brightnesses of its waves: the bright and the dull one, or one for both. */
  get brights() {
    if (this.bright - this.dull > 0.5 / BRIGHTS) return [this.bright, this.dull];
    return [(this.bright + this.dull) / 2];
  }

  level(seconds) {
    const { sustain, decay } = this.wave;
    const level = sustain + (1 - sustain) * Math.exp(-seconds / decay);
    return this.gain * level * factorOf(-this.fade * seconds);
  }

  /** Attack and release, 0 to 1, `into` the sounding of it (a note may be joined on its way). */
  gate(into) {
    const rise = Math.sin((Math.PI / 2) * Math.min(1, into / this.attack));
    const gone = Math.min(1, Math.max(0, (into - this.length) / this.wave.release));
    return rise * (0.5 + 0.5 * Math.cos(Math.PI * gone));
  }

  /** How far from the dull wave to the bright one. */
  weight(seconds, into) {
    const { keeps, dulls, bloom } = this.wave;
    if (this.bright - this.dull < 1e-6) return 1;
    let bright = this.bright * (keeps + (1 - keeps) * Math.exp(-seconds / dulls));
    bright *= 1 - bloom * (1 - this.gate(into));
    return (bright - this.dull) / (this.bright - this.dull);
  }

  /** At which seconds level and brightness are set: close together where much happens. */
  points() {
    const found = [];
    for (let part = 0; part <= 6; part += 1) found.push((this.attack * part) / 6);
    let step = 0.008;
    for (let at = this.attack + step; at < this.length; at += step) {
      found.push(at);
      step = Math.min(0.2, step * 1.3);
    }
    for (let part = 0; part <= 8; part += 1) found.push(this.length + (this.wave.release * part) / 8);
    return found;
  }
}
