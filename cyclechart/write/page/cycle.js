// The cycle beat by beat: signs and numbers in a row, the present beat large beside it.

// Pixels of a beat in the row.
const NARROWEST = 22;
const WIDEST = 46;
const SIGN_WORDS = { X: "X sam", 0: "0 wave", "": "" };

function signWords(sign) {
  return SIGN_WORDS[sign] === undefined ? `${sign} clap` : SIGN_WORDS[sign];
}

/** A cycle in one sentence, for who hears the page. */
function cycleWords(cycle) {
  const signs = cycle.beats.filter((beat) => beat.sign).map((beat) => {
    const what = beat.sign === "X" ? "sam" : beat.sign === "0" ? "wave" : `clap ${beat.sign}`;
    return `${what} on ${beat.name}`;
  });
  const last = cycle.beats[cycle.beats.length - 1];
  const half = last && last.length < 1 ? ", the last one short" : "";
  return `${cycle.name}: ${cycle.beats.length} beats${half}; ${signs.join(", ")}`;
}

function turnWords(turn) {
  if (!turn) return "";
  if (turn.kind === "count-in") return "Count-in";
  if (turn.kind === "lead-in") return "Lead-in";
  if (turn.kind === "free") return "Free, no cycle is counted";
  return turn.number ? `Cycle ${turn.number}` : "Cycle";
}

function sectionWords(section) {
  if (!section) return "";
  return [section.letter, section.name].filter(Boolean).join("  ");
}

class CycleView {
  constructor() {
    this.cycle = null;
    this.cells = [];
    this.here = -1;
    this.section = null;
    this.key = "";
    new ResizeObserver(() => this.fit()).observe(byId("where"));
  }

  draw(index) {
    if (this.cycle === index) return;
    this.cycle = index;
    const cycle = data.cycles[index];
    const row = byId("beats");
    row.replaceChildren();
    row.setAttribute("aria-label", cycleWords(cycle));
    this.cells = [];
    let group = null;
    for (const beat of cycle.beats) {
      if (beat.opens_section || !group) row.append((group = make("span", { class: "group" })));
      const cell = make("span", { class: beat.open ? "beat open" : "beat" });
      cell.style.setProperty("--length", Math.max(0.7, Math.min(2, beat.length)));
      cell.append(make("b", {}, beat.sign), make("i", {}, beat.name));
      group.append(cell);
      this.cells.push(cell);
    }
    this.here = -1;
    this.fit();
  }

  /** Cells as wide as they can be in as few rows as the cycle needs. */
  fit() {
    if (this.cycle === null) return;
    const row = byId("beats");
    const room = row.clientWidth - 6;
    const groups = [...row.children].map((group) => {
      const lengths = [...group.children].map((cell) => cell.style.getPropertyValue("--length"));
      return lengths.reduce((sum, length) => sum + Number(length), 0);
    });
    const rows = (cell) => {
      let [count, filled] = [1, 0];
      for (const length of groups) {
        const width = length * cell + 3;
        if (width > room) return Infinity;
        if (filled && filled + 8 + width > room) [count, filled] = [count + 1, width];
        else filled += (filled ? 8 : 0) + width;
      }
      return count;
    };
    const fewest = rows(NARROWEST);
    let cell = WIDEST;
    while (cell > NARROWEST && rows(cell) > fewest) cell -= 0.5;
    row.style.setProperty("--cell", `${cell}px`);
    row.style.setProperty("--digits", `${Math.round(Math.min(24, Math.max(13, cell * 0.52)))}px`);
  }

  /** Show where one is; quick, for it runs with every picture. */
  show({ stretch, position, into }, factor) {
    let turn = data.turns[turnAt(data, position)];
    let beat = -1;
    const counting = stretch && stretch.kind === "count";
    if (counting) {
      turn = data.turns[stretch.counted.turn];
      const { beats } = stretch.counted;
      beat = beats[lastAtMost(beats, into * factor + 1e-6, (one) => one.at)].beat;
    } else if (turn && turn.kind !== "free") {
      const within = lastAtMost(turn.beats, position + HAIR, (one) => one);
      beat = Math.min(within, turn.beats.length - 2) + firstBeat(data, turn);
    }
    if (!turn) return;
    const state = counting ? "Count-in" : turnWords(turn);
    const sings = stretch && stretch.kind === "sing";
    const left = turn.kind === "free" ? Math.ceil((turnEnd(turn) - position) / factor - HAIR) : 0;
    const key = `${left} ${turn.cycle} ${beat} ${state} ${turn.section} ${sings} ${turn.kind}`;
    if (key === this.key) return;
    this.key = key;
    this.draw(turn.cycle);
    this.mark(turn.kind === "free" ? -1 : beat, left);
    this.words(turn, state, sings, counting);
  }

  mark(beat, left) {
    if (this.here >= 0) this.cells[this.here].classList.remove("here");
    this.here = beat < this.cells.length ? beat : -1;
    const now = byId("now");
    const count = byId("count");
    byId("beats").style.visibility = this.here < 0 ? "hidden" : "";
    if (this.here < 0) {
      now.className = "open";
      // A free stretch counts no beats: the seconds that are left are told instead.
      count.className = left > 99 ? "long" : left > 9 ? "two" : "";
      say(count, String(left));
      say(byId("sign"), "sec.");
      return;
    }
    const cell = this.cells[this.here];
    cell.classList.add("here");
    const row = byId("beats");
    if (row.scrollHeight > row.clientHeight) {
      row.scrollTop += cell.getBoundingClientRect().top - row.getBoundingClientRect().top - 8;
    }
    const { name, sign, open } = data.cycles[this.cycle].beats[this.here];
    const kind = sign === "X" ? "sam" : sign && sign !== "0" ? "clap" : "";
    now.className = open || sign === "0" ? `${kind} open`.trim() : kind;
    say(count, name);
    count.className = name.length > 2 ? "long" : name.length > 1 ? "two" : "";
    say(byId("sign"), signWords(sign));
  }

  words(turn, state, sings, counting) {
    const section = data.sections[turn.section];
    const name = data.cycles[turn.cycle].name;
    say(byId("place"), sectionWords(section) || data.title);
    const line = byId("turn");
    const whole = turn.kind === "free" ? state : `${state} · ${name}`;
    say(line, sings ? `Sing it back · ${whole}` : whole);
    line.classList.toggle("sing", Boolean(sings));
    // Only a change of section is told: every beat would drown the music.
    if (section && !counting && this.section !== turn.section) {
      if (this.section !== null) say(byId("told"), `${sectionWords(section)}, Sa is ${section.sa}`);
      this.section = turn.section;
    }
  }
}
