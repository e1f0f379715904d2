// Strokes and plucks: opened before the first tap, so that nothing has to wait for them.

const RATE = 44100;

/** Numbers from -1 to 1 that look like chance and are the same each time. */
function chance(seed) {
  let state = seed >>> 0;
  return () => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return state / 2147483648 - 1;
  };
}

/** What is left of a sound between two frequencies: a gentle slope twice at either end. */
function banded(samples, low, high) {
  const found = Float32Array.from(samples);
  for (const [hz, isHigh] of [[low, true], [low, true], [high, false], [high, false]]) {
    const along = Math.tan((Math.PI * Math.min(hz, 0.45 * RATE)) / RATE);
    const scale = 1 / (1 + Math.SQRT2 * along + along * along);
    const back1 = 2 * (along * along - 1) * scale;
    const back2 = (1 - Math.SQRT2 * along + along * along) * scale;
    const front = isHigh ? scale : along * along * scale;
    const middle = isHigh ? -2 * front : 2 * front;
    let [x1, x2, y1, y2] = [0, 0, 0, 0];
    for (let at = 0; at < found.length; at += 1) {
      const x = found[at];
      const y = front * (x + x2) + middle * x1 - back1 * y1 - back2 * y2;
      [x2, x1, y2, y1] = [x1, x, y1, y];
      found[at] = y;
    }
  }
  return found;
}

function bufferOf(samples) {
  const buffer = new AudioBuffer({ length: samples.length, sampleRate: RATE, numberOfChannels: 1 });
  buffer.copyToChannel(samples, 0);
  return buffer;
}

/** Hands that count: a clap, the softer brush of a wave, a fingertip between. */
function hands(sign) {
  const [seconds, low, high, fall, peak] =
    sign === "0" ? [0.16, 2500, 7000, 0.035, 0.22]
    : sign === "" ? [0.05, 1800, 4000, 0.006, 0.16]
    : [0.12, 900, 3200, 0.014, sign === "X" ? 0.6 : 0.45];
  const next = chance(sign === "0" ? 5 : 9);
  const noise = Float32Array.from({ length: Math.round(seconds * RATE) }, next);
  const band = banded(noise, low, high);
  let most = 0;
  band.forEach((value, at) => {
    const time = at / RATE;
    // A wave of the hand has no edge: it swells before it dies.
    const rise = sign === "0" ? Math.min(1, time / 0.012) : Math.min(1, time / 0.0005);
    const over = Math.min(1, (seconds - time) / 0.01);
    band[at] = value * rise * over * Math.exp(-time / fall);
    most = Math.max(most, Math.abs(band[at]));
  });
  return bufferOf(band.map((value) => (value * peak) / most));
}

/** All recorded sounds of the page, and those it makes itself. They fit any audio context. */
const sounds = {
  opened: new Map(),
  opening: new Map(),
  noises: new Map(),
  claps: new Map(),
  desk: null,

  /** The buffer of a name once it is opened, else undefined. */
  get(name) {
    return this.opened.get(name);
  },

  open(name) {
    const known = this.opening.get(name);
    if (known) return known;
    if (!this.desk) this.desk = new OfflineAudioContext(1, 1, RATE);
    const coded = name === "room" ? data.room : data.sounds[name].flac;
    const bytes = bytesOf(coded);
    const made = this.desk.decodeAudioData(bytes.buffer).then(
      (buffer) => this.opened.set(name, buffer),
      () => this.opened.set(name, null),
    );
    this.opening.set(name, made);
    return made;
  },

  /** Open everything, what comes first in the piece first. */
  async openAll() {
    const firsts = new Map(data.drone.map(([, name], at) => [name, at * 0.01]));
    for (const voice of data.voices) {
      for (const [start, sound] of voice.strokes) {
        const name = voice.sounds[sound];
        if (!(firsts.get(name) <= start)) firsts.set(name, start);
      }
    }
    const names = [...firsts.keys()].sort((a, b) => firsts.get(a) - firsts.get(b));
    if (data.room) names.splice(6, 0, "room");
    for (const name of names.splice(0, 4)) await this.open(name);
    for (const wave of Object.keys(data.waves)) {
      this.noise(wave);
      await new Promise((go) => setTimeout(go, 0));
    }
    for (const name of names) {
      await this.open(name);
      await new Promise((go) => setTimeout(go, 0));
    }
  },

  clap(sign) {
    const kind = ["X", "0", ""].includes(sign) ? sign : "2";
    if (!this.claps.has(kind)) this.claps.set(kind, hands(kind));
    return this.claps.get(kind);
  },

  /** Noise in the band of a wave, of RMS 1. */
  noise(wave) {
    if (!this.noises.has(wave)) {
      const { low, high } = data.waves[wave].noise;
      const next = chance(7);
      const samples = banded(Float32Array.from({ length: 2 * RATE }, next), low, high);
      const power = samples.reduce((sum, value) => sum + value * value, 0) / samples.length;
      this.noises.set(wave, bufferOf(samples.map((value) => value / Math.sqrt(power))));
    }
    return this.noises.get(wave);
  },
};
