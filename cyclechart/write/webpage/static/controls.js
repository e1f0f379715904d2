// The settings: a panel for each thing a player may want otherwise.

/** How a turn is called in a list. */
function turnName(at) {
  const turn = data.turns[at];
  const section = data.sections[turn.section];
  const words = turn.kind === "free" ? "free" : turnWords(turn).toLowerCase();
  return section ? `${section.letter || section.name} · ${words}` : words;
}

function titled(name, title) {
  return title && title !== name ? `${name} (${title})` : name;
}

class Controls {
  constructor(settings, player, act) {
    this.settings = settings;
    this.player = player;
    this.act = act;
    this.section = -1;
    byId("panels").append(
      this.partPanel(), this.levelPanel(), this.tempoPanel(), this.placePanel(), this.singPanel(),
      this.saPanel(), this.voicesPanel(), this.keysPanel(), this.piecePanel(),
    );
    this.refresh();
  }

  partPanel() {
    const players = Object.keys(data.parts["0"] || {});
    const titles = new Map(data.voices.map((voice) => [voice.name, voice.title]));
    const named = (name) => titled(name, titles.get(name));
    const names = players.length ? players : data.voices.map((voice) => voice.name);
    const choices = names.map((name) => [name, named(name)]);
    this.part = chooser("Whose part", choices, (name) => this.act.part(name));
    const size = ranged("Size of the part", 60, 220, 10, 100, (value) => {
      say(told, `${value} %`);
      this.act.size(value / 100);
    });
    const told = make("output", { class: "short" }, "100 %");
    return panel("Whose part", this.part, make("div", { class: "row" }, "Size", size, told));
  }

  levelPanel() {
    this.level = ranged("Level of all, in decibels", -48, 0, 1, this.settings.level, (value) => {
      this.act.level(value);
    });
    this.levelTold = make("output", { class: "short" });
    return panel(
      "Level",
      make("div", { class: "row" }, this.level, this.levelTold),
      make("p", { id: "caution" }, data.hearing),
    );
  }

  tempoPanel() {
    this.tempo = ranged("Tempo in per cent", 40, 140, 1, 100, (value) => this.act.tempo(value));
    this.tempoTold = make("output", {});
    const count = ticked("Count a cycle of claps before each start", this.settings.count, (on) => {
      this.act.count(on);
    });
    this.count = count.box;
    return panel(
      "Tempo",
      this.tempo,
      make("div", { class: "row" },
        button("−", () => this.act.tempo(this.percent - 5), { class: "small", "aria-label": "Slower" }),
        this.tempoTold,
        button("+", () => this.act.tempo(this.percent + 5), { class: "small", "aria-label": "Faster" }),
      ),
      make("div", { class: "row" }, button("As written", () => this.act.tempo(100))),
      count.label,
    );
  }

  get percent() {
    return Math.round(100 * this.settings.factor);
  }

  placePanel() {
    const sections = data.sections.map((section, at) => [at, sectionWords(section)]);
    this.place = chooser("Go to section", sections, (at) => this.act.section(Number(at)));
    const turns = data.turns.map((_, at) => [at, turnName(at)]);
    this.from = chooser("Loop from cycle", turns, (at) => this.act.loopFrom(Number(at)));
    this.to = chooser("Loop to cycle", turns, (at) => this.act.loopTo(Number(at)));
    this.to.value = data.turns.length - 1;
    const loop = ticked("Go round and round from one cycle to another", false, (on) => this.act.loop(on));
    this.loop = loop.box;
    return panel(
      "Where",
      make("div", { class: "row" }, make("span", { class: "short" }, "Go to"), this.place),
      loop.label,
      make("div", { class: "row" }, make("span", { class: "short" }, "From"), this.from),
      make("div", { class: "row" }, make("span", { class: "short" }, "To"), this.to),
      make("div", { class: "row" },
        button("This cycle only", () => this.act.loopHere("turn")),
        button("This section only", () => this.act.loopHere("section")),
      ),
    );
  }

  singPanel() {
    const choices = [[0, "Off"], [1, "After each cycle"]];
    for (const many of [2, 3, 4, 6, 8]) choices.push([many, `After ${many} cycles`]);
    choices.push([9999, "After the whole stretch"]);
    this.sing = chooser("Sing back", choices, (many) => this.act.sing(Number(many)));
    return panel(
      "Sing back",
      make("p", {}, "What was played comes again without the melody, for you to sing or play."),
      this.sing,
    );
  }

  saPanel() {
    this.saTold = make("output", {});
    const by = (sign, semitones, name) => {
      const moves = () => this.act.shift(this.settings.shift + semitones);
      return button(sign, moves, { class: "small", "aria-label": name });
    };
    this.lower = by("−", -1, "Sa a semitone lower");
    this.higher = by("+", 1, "Sa a semitone higher");
    this.saNote = make("p", { role: "status" });
    const toggles = () => this.act.drone(!this.settings.drone);
    this.drone = button("Drone on its own", toggles, { "aria-pressed": "false" });
    const none = data.drone.length === 0;
    const told = none
      ? "This piece has no drone."
      : "It sounds before and after the piece too, to tune and to sing by.";
    this.drone.disabled = none;
    return panel(
      "Sa and drone",
      make("div", { class: "row" }, this.lower, this.saTold, this.higher),
      this.saNote,
      make("div", { class: "row" }, this.drone),
      make("p", {}, told),
    );
  }

  voicesPanel() {
    this.voices = data.voices.map((voice, at) => {
      const name = titled(voice.name, voice.title);
      const mute = button("Silent", () => this.act.mute(at), {
        "aria-label": `${voice.name} silent`, "aria-pressed": "false",
      });
      const told = make("output", {});
      const turned = (value) => this.act.voice(at, value);
      const level = ranged(`Level of ${voice.name}, in decibels`, -30, 6, 1, 0, turned);
      const row = make("div", { class: "voice" }, make("span", { class: "name" }, name), mute,
        make("div", { class: "row" }, level, told));
      return { mute, told, level, row };
    });
    return panel("Voices", ...this.voices.map((voice) => voice.row));
  }

  keysPanel() {
    const keys = ticked("Keys work", this.settings.keys, (on) => {
      this.settings.keys = on;
    });
    const list = make("dl");
    for (const [names, what] of KEYS_TOLD) {
      const term = make("dt");
      names.forEach((name, at) => term.append(at ? " " : "", make("kbd", {}, name)));
      list.append(term, make("dd", {}, what));
    }
    return panel("Keyboard", keys.label, list);
  }

  piecePanel() {
    const list = make("dl");
    const all = (of) => [...new Set([data, ...data.sections].map(of))].filter(Boolean).join(", then ");
    const lines = [
      ["Piece", data.title], ["By", data.composer],
      ["Mode", all((one) => one.mode)], ["Sa", all((one) => one.sa)],
    ];
    for (const [name, text] of lines) {
      if (text) list.append(make("dt", {}, name), make("dd", { dir: "auto" }, text));
    }
    for (const cycle of data.cycles) list.append(make("dt", {}, "Cycle"), make("dd", {}, cycleWords(cycle)));
    return panel("This piece", list, make("p", {}, data.caution));
  }

  /** Mode and Sa are told as they are in the section that is played or comes. */
  enter(section) {
    if (section < 0 || section === this.section) return;
    this.section = section;
    this.place.value = section;
    this.refresh();
  }

  /** Show all settings as they are now. */
  refresh() {
    const { settings } = this;
    this.tempo.value = this.percent;
    const beats = Math.round(data.tempo * settings.factor);
    say(this.tempoTold, `${this.percent} % · ${beats} a minute at first`);
    this.tempo.setAttribute("aria-valuetext", `${this.percent} per cent, ${beats} beats a minute at first`);
    this.level.value = settings.level;
    say(this.levelTold, `${signed(settings.level)} dB`);
    const moves = settings.shift ? ` (${signed(settings.shift)})` : ", as written";
    const here = data.sections[this.section];
    const name = saIn(here, settings.shift);
    say(this.saTold, `Sa is ${name}${moves}`);
    const { mode, sa } = here || data;
    const sounds = settings.shift ? `Sa is ${name}, written ${sa}` : `Sa is ${sa}`;
    // What changes stands first: where the line is short, the end is cut.
    say(byId("under"), [mode, sounds, data.composer].filter(Boolean).join(" · "));
    this.lower.disabled = settings.shift <= -5;
    this.higher.disabled = settings.shift >= 6;
    this.drone.setAttribute("aria-pressed", String(settings.drone));
    this.count.checked = settings.count;
    this.sing.value = settings.sing;
    this.loop.checked = Boolean(settings.loop);
    this.from.value = settings.stretch[0];
    this.to.value = settings.stretch[1];
    this.voices.forEach((voice, at) => {
      voice.mute.setAttribute("aria-pressed", String(settings.muted[at]));
      say(voice.told, `${signed(settings.levels[at])} dB`);
    });
    const moved = data.parts[String(settings.shift)] || {};
    const stays = settings.shift !== 0 && !moved[settings.part];
    say(this.saNote, "For this Sa no part is written: it stays as it is, and only the sound moves.");
    this.saNote.hidden = !stays;
  }
}
