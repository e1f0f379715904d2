// What is played when: pure sums, no sound and no page. Piece time is seconds at the written tempo;
// road time is seconds from the moment the player starts.

// Rounded times of notes may lie a hair before the beat they belong to.
const HAIR = 0.0005;
// Of a held note that a start falls into, less than this is not worth sounding.
const WORTH = 0.15;

function turnStart(turn) {
  return turn.beats[0];
}

function turnEnd(turn) {
  return turn.beats[turn.beats.length - 1];
}

/** The index of the turn that a time of the piece lies in. */
function turnAt(piece, position) {
  return Math.max(0, lastAtMost(piece.turns, position + HAIR, turnStart));
}

/** The index of the section that a time of the piece lies in; while one is counted in, of that which
    comes; -1 for none. */
function sectionAt(piece, position) {
  for (let at = turnAt(piece, position); at < piece.turns.length; at += 1) {
    if (piece.turns[at].section >= 0) return piece.turns[at].section;
  }
  return -1;
}

/** Which beat of its cycle the first beat of a turn is: a short lead-in has the last ones. */
function firstBeat(piece, turn) {
  if (turn.kind !== "lead-in") return 0;
  return Math.max(0, piece.cycles[turn.cycle].beats.length - (turn.beats.length - 1));
}

function isWhole(piece, turn) {
  return turn.kind !== "free" && turn.beats.length === piece.cycles[turn.cycle].beats.length + 1;
}

/** The claps before a start in a turn: beats with seconds at the written tempo; null for none. */
function countBefore(piece, position) {
  const index = turnAt(piece, position);
  const here = piece.turns[index];
  if (!here || here.kind === "count-in" || here.kind === "free") return null;
  const model = piece.turns.slice(index).find((turn) => isWhole(piece, turn));
  if (!model) return null;
  const begin = turnStart(model);
  let length = turnEnd(model) - begin;
  // A lead-in comes in while the cycle is counted.
  if (here.kind === "lead-in") {
    const rest = length - (turnEnd(here) - position);
    if (rest > HAIR) length = rest;
  }
  const beats = [];
  piece.cycles[model.cycle].beats.forEach((beat, at) => {
    const time = model.beats[at] - begin;
    if (time < length - HAIR) beats.push({ at: time, beat: at, sign: beat.sign });
  });
  return { turn: piece.turns.indexOf(model), length, beats };
}

/** Which of a counting voice's sounds stands for each sign: heard from the piece's own count. */
function countSounds(piece) {
  const found = new Map();
  piece.voices.forEach((voice) => {
    if (voice.role !== "count") return;
    for (const [start, sound, velocity] of voice.strokes) {
      const turn = piece.turns[turnAt(piece, start)];
      const at = lastAtMost(turn.beats, start + HAIR, (one) => one);
      const beat = piece.cycles[turn.cycle].beats[at + firstBeat(piece, turn)];
      if (beat && turn.kind !== "free" && start - turn.beats[at] < 2 * HAIR && !found.has(beat.sign)) {
        found.set(beat.sign, { name: voice.sounds[sound], velocity });
      }
    }
  });
  return found;
}

/** Turns first to last in groups of so many cycles, each to be played and then sung back. */
function groupsOf(piece, first, last, cycles) {
  const groups = [];
  let from = first;
  let counted = 0;
  const close = (next, sung) => {
    if (next > from) {
      const start = turnStart(piece.turns[from]);
      groups.push({ start, end: turnEnd(piece.turns[next - 1]), sung });
    }
    from = next;
    counted = 0;
  };
  for (let at = first; at <= last; at += 1) {
    const { kind } = piece.turns[at];
    if (kind === "count-in") {
      close(at, true);
      close(at + 1, false);
    } else if (kind !== "lead-in") {
      counted += 1;
      if (counted === cycles) close(at + 1, true);
    }
  }
  close(last + 1, true);
  return groups;
}

/**
 * The stretches of the road in order, endless in a loop. ask: `factor` (2 is twice as fast), `loop`
 * (null, or first and last turn), `sing` (cycles sung back at a time, 0 for never), `count`, `resume`
 * ("play" or "sing" where a stretch of that kind goes on, with other settings).
 */
function* stretchesOf(piece, position, ask) {
  const lastTurn = piece.turns.length - 1;
  const [first, last] = ask.loop || [0, lastTurn];
  const begin = ask.loop ? turnStart(piece.turns[first]) : 0;
  const end = ask.loop ? turnEnd(piece.turns[last]) : piece.length;
  const groups = ask.sing ? groupsOf(piece, first, last, ask.sing) : [];
  if (!groups.length) groups.push({ start: begin, end, sung: false });
  // What comes after the last turn rings out with it.
  if (!ask.loop) groups[groups.length - 1].end = Math.max(end, groups[groups.length - 1].end);
  let from = position < begin - HAIR || position >= end - HAIR ? begin : position;
  let at = 0;
  const counted = ask.count ? countBefore(piece, from) : null;
  if (counted) {
    const length = counted.length / ask.factor;
    yield { kind: "count", start: from, end: from, at, length, counted };
    at += length;
  }
  let resume = ask.resume || "";
  for (;;) {
    for (const group of groups) {
      if (from >= group.end - HAIR) continue;
      const start = Math.max(from, group.start);
      const length = (group.end - start) / ask.factor;
      const sung = ask.sing && group.sung;
      const kind = resume === "sing" && sung ? "sing" : "play";
      yield { kind, start, end: group.end, at, length };
      at += length;
      if (sung && kind === "play") {
        // What was begun with other settings is sung back whole all the same.
        const again = resume ? group.start : start;
        const whole = (group.end - again) / ask.factor;
        yield { kind: "sing", start: again, end: group.end, at, length: whole };
        at += whole;
      }
      resume = "";
    }
    if (!ask.loop || end - begin < HAIR) return;
    from = begin;
  }
}

/** A road from a place on: hands out its events as time goes by, and tells where one is. */
class Road {
  constructor(piece, position, ask) {
    this.piece = piece;
    this.ask = ask;
    this.source = stretchesOf(piece, position, ask);
    this.stretches = [];
    this.ended = false;
    this.upTo = null;
    this.next();
  }

  next() {
    const { value, done } = this.source.next();
    this.ended = Boolean(done);
    if (done) return;
    this.stretches.push(value);
    this.current = value;
    this.upTo = null;
  }

  /** Where the road ends, or Infinity as long as more comes. */
  get length() {
    if (!this.ended) return Infinity;
    return this.current ? this.current.at + this.current.length : 0;
  }

  /** The stretch at a road time and the time of the piece there. */
  at(time) {
    const index = Math.max(0, lastAtMost(this.stretches, time + 1e-9, (one) => one.at));
    const stretch = this.stretches[index];
    const into = Math.min(Math.max(0, time - stretch.at), stretch.length);
    const position = stretch.kind === "count" ? stretch.start : stretch.start + into * this.ask.factor;
    return { stretch, into, position };
  }

  /** What begins before a road time and was not handed out before. */
  until(time) {
    const found = [];
    while (!this.ended && this.current.at < time) {
      const stretch = this.current;
      const all = time >= stretch.at + stretch.length;
      if (stretch.kind === "count") this.claps(stretch, all ? Infinity : time, found);
      else this.events(stretch, all ? Infinity : time, found);
      if (!all) break;
      this.next();
    }
    // Long looping must not fill the memory: the display looks back a moment only.
    if (this.stretches.length > 64) this.stretches.splice(0, 32);
    return found.sort((a, b) => a.time - b.time);
  }

  claps(stretch, time, found) {
    if (this.upTo === null) this.upTo = 0;
    const { beats } = stretch.counted;
    for (; this.upTo < beats.length; this.upTo += 1) {
      const clap = beats[this.upTo];
      const when = stretch.at + clap.at / this.ask.factor;
      if (when >= time) return;
      found.push({ kind: "clap", time: when, sign: clap.sign, voice: -1, index: this.upTo });
    }
  }

  events(stretch, time, found) {
    const { voices } = this.piece;
    const first = this.upTo === null;
    if (first) this.upTo = voices.map(() => [0, 0]);
    voices.forEach((voice, number) => {
      if (stretch.kind === "sing" && voice.role === "melody") return;
      const pointers = this.upTo[number];
      if (first) {
        pointers[0] = lastAtMost(voice.tones, stretch.start - HAIR, (one) => one[0]) + 1;
        pointers[1] = lastAtMost(voice.strokes, stretch.start - HAIR, (one) => one[0]) + 1;
        this.held(stretch, voice, number, pointers[0], found);
      }
      this.run(stretch, time, voice.tones, pointers, 0, number, found);
      this.run(stretch, time, voice.strokes, pointers, 1, number, found);
    });
  }

  /** Notes that are sounding where a stretch begins are joined on their way. */
  held(stretch, voice, number, before, found) {
    for (let index = 0; index < before; index += 1) {
      const [start, length] = voice.tones[index];
      const left = Math.min(start + length, stretch.end) - stretch.start;
      if (left > WORTH) {
        const skip = (stretch.start - start) / this.ask.factor;
        const time = stretch.at;
        found.push({ kind: "tone", time, length: left / this.ask.factor, skip, voice: number, index });
      }
    }
  }

  run(stretch, time, list, pointers, which, number, found) {
    for (; pointers[which] < list.length; pointers[which] += 1) {
      const index = pointers[which];
      const event = list[index];
      if (event[0] >= stretch.end - HAIR) return;
      const when = stretch.at + Math.max(0, event[0] - stretch.start) / this.ask.factor;
      if (when >= time) return;
      if (which) {
        found.push({ kind: "stroke", time: when, voice: number, index });
      } else {
        const length = Math.min(event[1], stretch.end - event[0]) / this.ask.factor;
        found.push({ kind: "tone", time: when, length, skip: 0, voice: number, index });
      }
    }
  }
}
