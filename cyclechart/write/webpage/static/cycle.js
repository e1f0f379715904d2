// The cycle beat by beat: signs and numbers in a row, the present beat large beside it.

// Pixels of a beat in the row: the least where there is room, the least at all, the most.
const NARROW = 22;
const NARROWEST = 17;
const WIDEST = 46;
// Pixels between groups and between rows, and of a group's own bar, as the style has them.
const BETWEEN = 6;
const BAR = 3;
// Of a beat's width, how narrow a part of a beat is drawn at the least: its number stands in it.
const SHORTEST = 0.78;
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

/** The letter of Sa as it sounds in a section, moved by so many semitones. */
function saIn(section, shift) {
  const { key, sa } = section || data;
  return shift ? data.names[(((key + shift) % 12) + 12) % 12] : sa;
}

/** Whether the piece has more than one Sa or mode. */
function differs(what) {
  return new Set(data.sections.map((section) => section[what])).size > 1;
}

const PARTS = { "1/2": "½", "1/3": "⅓", "2/3": "⅔", "1/4": "¼", "3/4": "¾", "1/8": "⅛", "3/8": "⅜", "5/8": "⅝", "7/8": "⅞" };

/** A beat's name as it fits into its cell: 10½ for 10 1/2. */
function cellName(name) {
  const [whole, part] = name.split(" ");
  return part ? whole + (PARTS[part] || `\u202f${part}`) : name;
}

class CycleView {
  constructor() {
    this.cycle = null;
    this.cells = [];
    this.here = -1;
    this.section = null;
    this.worded = 0;
    this.key = "";
    // Not the cycle itself, whose own height is what is fitted.
    new ResizeObserver(() => this.fit()).observe(byId("main"));
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
      if (beat.length < 1) cell.classList.add("short");
      cell.style.setProperty("--length", Math.max(SHORTEST, Math.min(2, beat.length)));
      cell.append(make("b", {}, beat.sign), make("i", {}, cellName(beat.name)));
      if (beat.name.includes(" ")) cell.classList.add("broken");
      group.append(cell);
      this.cells.push(cell);
    }
    this.here = -1;
    this.fit();
  }

  /** All beats in view: where the cycle would take the room of the part, the large count is made
      smaller, the beats stand below it and more of them in a row. */
  fit() {
    if (this.cycle === null) return;
    const cycle = byId("cycle");
    const row = byId("beats");
    row.style.maxHeight = "";
    const most = this.budget();
    for (const tight of [false, true]) {
      cycle.classList.toggle("tight", tight);
      this.size(tight ? NARROWEST : NARROW, tight ? most - this.high() + row.offsetHeight : 0);
      if (this.high() <= most) return;
    }
    // A cycle longer than any that is known: its row scrolls with the beat.
    row.style.maxHeight = `${Math.max(64, most - this.high() + row.offsetHeight)}px`;
  }

  /** Pixels that the cycle may be high: all beside the part, above it so many that the part has half
      of the screen. */
  budget() {
    const [head, main, bar] = ["head", "main", "bar"].map((id) => byId(id).offsetHeight);
    const beside = byId("score").offsetLeft >= byId("cycle").offsetWidth;
    return beside ? main : Math.max(110, (head + main + bar) / 2 - head - bar);
  }

  /** Pixels that the cycle's contents are high. */
  high() {
    const { paddingTop, paddingBottom, borderBottomWidth } = getComputedStyle(byId("cycle"));
    const boxes = ["now", "where", "beats"].map(byId);
    const top = Math.min(...boxes.map((box) => box.offsetTop));
    const bottom = Math.max(...boxes.map((box) => box.offsetTop + box.offsetHeight));
    const around = [paddingTop, paddingBottom, borderBottomWidth].map(parseFloat);
    return around.reduce((sum, one) => sum + one, bottom - top);
  }

  /** Cells as wide as they can be in as few rows as the cycle needs, or as are not too high. */
  size(narrowest, most) {
    const row = byId("beats");
    const room = row.clientWidth - 6;
    const groups = [...row.children].map((group) =>
      [...group.children].map((cell) => Number(cell.style.getPropertyValue("--length"))));
    const digits = (cell) => Math.min(24, Math.max(11, cell < NARROW ? cell * 0.62 : cell * 0.55));
    const rows = (cell) => {
      let [count, filled] = [1, 0];
      for (const group of groups) {
        const width = group.reduce((sum, length) => sum + length * cell, BAR);
        if (filled && filled + BETWEEN + width > room) [count, filled] = [count + 1, 0];
        filled += (filled ? BETWEEN : 0) + width;
        // A group longer than the row goes on in the next.
        if (filled > room) {
          const each = Math.max(1, Math.floor((room - BAR) / cell));
          count += Math.ceil(group.length / each) - 1;
          filled = room;
        }
      }
      return count;
    };
    const fewest = rows(narrowest);
    const wide = (many) => {
      let cell = WIDEST;
      while (cell > narrowest && rows(cell) > many) cell -= 0.25;
      return cell;
    };
    // More rows of larger cells, as long as they are not too high.
    let cell = wide(fewest);
    for (let many = fewest + 1; cell < NARROW + 4 && many <= 8; many += 1) {
      const next = wide(many);
      if (many * (digits(next) * 2.55 + 9) > most) break;
      cell = next;
    }
    row.style.setProperty("--cell", `${cell}px`);
    row.style.setProperty("--digits", `${digits(cell).toFixed(1)}px`);
  }

  /** Show where one is; quick, for it runs with every picture. */
  show({ stretch, position, into }, { factor, shift }) {
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
    const coming = sectionAt(data, position);
    const key = `${left} ${turn.cycle} ${beat} ${state} ${turn.section} ${coming} ${sings} ${turn.kind}`;
    if (key === this.key) return;
    this.key = key;
    this.words(turn, state, sings, data.sections[coming]);
    this.draw(turn.cycle);
    this.mark(turn.kind === "free" ? -1 : beat, left);
    if (!counting) this.tell(turn.section, shift);
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
    const told = cellName(name);
    say(count, told);
    count.className = told.length > 2 ? "long" : told.length > 1 ? "two" : "";
    say(byId("sign"), signWords(sign));
  }

  words(turn, state, sings, section) {
    const name = data.cycles[turn.cycle].name;
    const line = byId("turn");
    const whole = turn.kind === "free" ? state : `${state} · ${name}`;
    const texts = [sectionWords(section) || data.title, sings ? `Sing it back · ${whole}` : whole];
    say(byId("place"), texts[0]);
    say(line, texts[1]);
    line.classList.toggle("sing", Boolean(sings));
    // A text of another height leaves the beats another.
    if (byId("where").offsetHeight !== this.worded) this.fit();
    this.worded = byId("where").offsetHeight;
  }

  /** Only a change of section is told: every beat would drown the music. */
  tell(at, shift) {
    const section = data.sections[at];
    if (!section || this.section === at) return;
    if (this.section !== null) {
      const mode = differs("mode") ? section.mode : "";
      const sa = `Sa is ${saIn(section, shift)}`;
      say(byId("told"), [sectionWords(section), mode, sa].filter(Boolean).join(", "));
    }
    this.section = at;
  }
}
