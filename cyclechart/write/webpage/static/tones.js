// One note as nodes of an audio context.

// Notes shorter than this need no slow swell.
const SWELLS = 0.6;

function ramped(param, when, points, of) {
  param.setValueAtTime(of(0), when);
  for (const at of points) if (at > 0) param.linearRampToValueAtTime(of(at), when + at);
}

/** A glide in cents, in straight lines, from `skip` seconds into it. */
function glide(param, curve, when, skip, factor) {
  if (!curve.length) return;
  const points = curve.map(([at, cents]) => [at / factor - skip, cents]);
  if (points[0][0] > -skip) points.unshift([-skip, 0]);
  let begin = points[0][1];
  for (let at = 0; at < points.length; at += 1) {
    const [time, cents] = points[at];
    if (time <= 0) {
      begin = cents;
      const next = points[at + 1];
      if (next && next[0] > 0) begin += ((next[1] - cents) * -time) / (next[0] - time);
    }
  }
  param.setValueAtTime(begin, when);
  for (const [time, cents] of points) if (time > 0) param.linearRampToValueAtTime(cents, when + time);
}

/**
 * Sound a note into `out` at `when` (audio time). note: wave, hz, velocity, length, skip (seconds it
 * has gone on before), curve and factor. Returns what to stop it with.
 */
function soundTone(studio, out, when, note) {
  const { context } = studio;
  const wave = data.waves[note.wave];
  const shape = new Shape(wave, note.hz, note.velocity, note.length);
  const ends = when + note.length + wave.release + 0.005;
  const env = new GainNode(context, { gain: 0 });
  const points = shape.points();
  ramped(env.gain, when, points, (into) => shape.level(into + note.skip) * shape.gate(into));
  const sources = [];
  const oscillator = (bright, to) => {
    const periodicWave = studio.waves.at(note.wave, note.hz, bright);
    const made = new OscillatorNode(context, { type: "custom", frequency: note.hz, periodicWave });
    glide(made.detune, note.curve, when, note.skip, note.factor);
    made.connect(to);
    sources.push(made);
  };
  // Two waves of one phase, faded into each other, are the one tone growing duller.
  if (shape.brights.length > 1) {
    const weight = (into) => shape.weight(into + note.skip, into);
    const bright = new GainNode(context, { gain: 0 });
    const dull = new GainNode(context, { gain: 0 });
    ramped(bright.gain, when, points, weight);
    ramped(dull.gain, when, points, (into) => 1 - weight(into));
    bright.connect(env);
    dull.connect(env);
    oscillator(shape.bright, bright);
    oscillator(shape.dull, dull);
  } else {
    oscillator(shape.brights[0], env);
  }
  if (wave.tremor.depth && note.length > SWELLS) {
    const swell = new GainNode(context, { gain: 1 });
    sources.push(tremor(context, swell.gain, wave.tremor, when));
    env.connect(swell).connect(out);
  } else {
    env.connect(out);
  }
  hiss(studio, wave, shape, when, note, out, env, sources);
  for (const source of sources) {
    if (source.buffer) source.start(when, (note.hz * 0.997 + when * 0.37) % source.buffer.duration);
    else source.start(when);
    source.stop(ends);
  }
  sources[0].onended = () => env.disconnect();
  return sources;
}

/** A slow swell of the level, set in gently: so small that up and down in dB is up and down evenly. */
function tremor(context, level, { rate, depth, delay }, when) {
  const slow = new OscillatorNode(context, { frequency: rate });
  const by = new GainNode(context, { gain: 0 });
  by.gain.setValueAtTime(0, when + delay);
  by.gain.linearRampToValueAtTime(factorOf(depth) - 1, when + 2 * delay);
  slow.connect(by).connect(level);
  return slow;
}

/** Breath under the tone, and the scrape, tongue or finger at its beginning. */
function hiss(studio, wave, shape, when, note, out, env, sources) {
  const { breath, burst, burst_seconds: fall } = wave.noise;
  const { context } = studio;
  const buffer = studio.noise(note.wave);
  const source = () => {
    const made = new AudioBufferSourceNode(context, { buffer, loop: true });
    sources.push(made);
    return made;
  };
  if (breath > 0.001) source().connect(new GainNode(context, { gain: breath })).connect(env);
  if (burst > 0 && note.skip === 0) {
    const by = new GainNode(context, { gain: 0 });
    by.gain.setValueAtTime(0, when);
    by.gain.linearRampToValueAtTime(shape.gain * burst, when + 0.0009);
    by.gain.setTargetAtTime(0, when + 0.0009, fall);
    by.gain.setValueAtTime(0, when + Math.min(note.length + wave.release, 10 * fall));
    source().connect(by).connect(out);
  }
}
