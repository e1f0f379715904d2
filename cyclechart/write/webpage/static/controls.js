// The settings: a panel for each group of them.

import { cycleWords, sectionWords, turnWords } from "./cycle_words.js";
import { data, itemAt } from "./data.js";
import { button, checkbox, dropdown, make, row, setText, signed, slider } from "./elements.js";
import { KEY_HELP } from "./keyboard.js";
import { countPanel, fasterPanel } from "./practice_panel.js";
import { SaControls } from "./sa_controls.js";
import { addPanel } from "./setting_groups.js";
import { isSilent } from "./who_plays.js";

/** @typedef {import("./actions.js").Actions} Actions */
/** @typedef {import("./schema.js").PageData} PageData */
/** @typedef {import("./schema.js").Section} Section */
/** @typedef {import("./settings.js").Settings} Settings */

/** The choice of singing back after everything: more cycles than any piece has. */
const ALL_CYCLES = 9999;

/**
 * A turn as a list names it.
 * @param {number} at
 */
function turnName(at) {
  const turn = data.turns[at];
  const section = itemAt(data.sections, turn.section);
  const words = turn.kind === "free" ? "free" : turnWords(turn).toLowerCase();
  return section ? `${section.letter || section.name} · ${words}` : words;
}

/**
 * @param {string} name
 * @param {string | undefined} title
 */
function nameWithTitle(name, title) {
  return title && title !== name ? `${name} (${title})` : name;
}

export class Controls {
  /**
   * @param {Settings} settings
   * @param {Actions} actions
   */
  constructor(settings, actions) {
    this.settings = settings;
    this.actions = actions;
    this.section = -1;
    this.part = this.addPartPanel();
    this.level = this.addLevelPanel();
    this.tempo = this.addTempoPanel();
    this.place = this.addPlacePanel();
    this.sing = this.addSingPanel();
    this.sa = new SaControls(settings, actions);
    this.voices = this.addVoicesPanel();
    this.addKeysPanel();
    this.addPiecePanel();
    this.refresh();
  }

  addPartPanel() {
    const players = Object.keys(data.parts["0"] ?? {});
    const titles = new Map(data.voices.map((voice) => [voice.name, voice.title]));
    const names = players.length ? players : data.voices.map((voice) => voice.name);
    /** @type {[string, string][]} */
    const choices = names.map((name) => [name, nameWithTitle(name, titles.get(name))]);
    const part = dropdown("Whose part", choices, (name) => this.actions.part(name));
    const range = { min: 60, max: 220, step: 10, value: 100 };
    const size = slider("Size of the part", range, (value) => this.actions.size(value / 100));
    const percent = make("output", { class: "short" }, "100 %");
    addPanel("part", "Whose part", part, row("Size", size, percent));
    return { list: part, size, percent };
  }

  addLevelPanel() {
    const range = { min: -48, max: 0, step: 1, value: this.settings.level };
    const level = slider("Level of all, in decibels", range, (value) => this.actions.level(value));
    const text = make("output", { class: "short" });
    const { box, label } = checkbox(
      "For a phone's loudspeaker: drums, bass and drone by their upper tones",
      this.settings.loudspeaker,
      (isOn) => this.actions.loudspeaker(isOn),
    );
    addPanel("sound", "Level", row(level, text), label, make("p", { id: "caution" }, data.hearing));
    return { slider: level, text, loudspeaker: box };
  }

  addTempoPanel() {
    const range = { min: 40, max: 140, step: 1, value: 100 };
    const tempo = slider("Tempo in per cent", range, (value) => this.actions.tempo(value));
    const text = make("output");
    const change = (/** @type {string} */ sign, /** @type {number} */ percent, /** @type {string} */ name) => {
      const clicked = () => this.actions.tempo(this.percent + percent);
      return button(sign, clicked, { class: "small", "aria-label": name });
    };
    const count = countPanel(this.actions);
    addPanel(
      "tempo",
      "Tempo",
      tempo,
      row(change("−", -5, "Slower"), text, change("+", 5, "Faster")),
      row(
        button("As written", () => this.actions.tempo(100)),
        button("Tap the beat", () => this.actions.tap(performance.now())),
      ),
      count.element,
    );
    return { slider: tempo, text, count };
  }

  get percent() {
    return Math.round(100 * this.settings.factor);
  }

  addPlacePanel() {
    /** @type {[number, string][]} */
    const sections = data.sections.map((section, at) => [at, sectionWords(section)]);
    const place = dropdown("Go to section", sections, (at) => this.actions.section(Number(at)));
    /** @type {[number, string][]} */
    const turns = data.turns.map((_, at) => [at, turnName(at)]);
    const from = dropdown("Loop from cycle", turns, (at) => this.actions.loopFrom(Number(at)));
    const to = dropdown("Loop to cycle", turns, (at) => this.actions.loopTo(Number(at)));
    const { box, label } = checkbox("Go round and round from one cycle to another", false, (isOn) =>
      this.actions.loop(isOn),
    );
    const short = (/** @type {string} */ text) => make("span", { class: "short" }, text);
    const faster = fasterPanel(this.actions, this.settings);
    addPanel(
      "loop",
      "Where",
      row(short("Go to"), place),
      label,
      row(short("From"), from),
      row(short("To"), to),
      row(
        button("This cycle only", () => this.actions.loopHere("turn")),
        button("This section only", () => this.actions.loopHere("section")),
      ),
      ...faster.elements,
    );
    return { section: place, from, to, loop: box, faster };
  }

  addSingPanel() {
    /** @type {[number, string][]} */
    const choices = [[0, "Off"], [1, "After each cycle"]];
    for (const many of [2, 3, 4, 6, 8]) choices.push([many, `After ${many} cycles`]);
    choices.push([ALL_CYCLES, "After the whole stretch"]);
    const sing = dropdown("Sing back", choices, (many) => this.actions.sing(Number(many)));
    addPanel(
      "loop",
      "Sing back",
      make("p", {}, "What was played comes again without the melody, for you to sing or play."),
      sing,
    );
    return sing;
  }

  addVoicesPanel() {
    const voices = data.voices.map((voice, at) => {
      const mute = button("Silent", () => this.actions.mute(at), {
        "aria-label": `${voice.name} silent`, "aria-pressed": "false",
      });
      const text = make("output");
      const name = make("span", { class: "name" }, nameWithTitle(voice.name, voice.title));
      const range = { min: -30, max: 6, step: 1, value: 0 };
      const label = `Level of ${voice.name}, in decibels`;
      const level = slider(label, range, (value) => this.actions.voice(at, value));
      const element = make("div", { class: "voice" }, name, mute, row(level, text));
      return { mute, text, level, element };
    });
    addPanel("sound", "Voices", ...voices.map((voice) => voice.element));
    return voices;
  }

  addKeysPanel() {
    const keys = checkbox("Keys work", this.settings.keys, (isOn) => {
      this.settings.keys = isOn;
    });
    const list = make("dl");
    for (const [names, description] of KEY_HELP) {
      const term = make("dt");
      names.forEach((name, at) => term.append(at ? " " : "", make("kbd", {}, name)));
      list.append(term, make("dd", {}, description));
    }
    addPanel("more", "Keyboard", keys.label, list);
  }

  addPiecePanel() {
    const list = make("dl");
    /** @type {(textOf: (part: PageData | Section) => string) => string} */
    const inTurn = (textOf) =>
      [...new Set([data, ...data.sections].map(textOf))].filter(Boolean).join(", then ");
    const lines = [
      ["Piece", data.title],
      ["By", data.composer],
      ["Mode", inTurn((part) => part.mode)],
      ["Sa", inTurn((part) => part.sa)],
    ];
    for (const [name, text] of lines) {
      if (text) list.append(make("dt", {}, name), make("dd", { dir: "auto" }, text));
    }
    for (const cycle of data.cycles) list.append(make("dt", {}, "Cycle"), make("dd", {}, cycleWords(cycle)));
    addPanel("more", "This piece", list, make("p", {}, data.caution));
  }

  /**
   * Show mode and Sa as they are in the section that is played or comes.
   * @param {number} section
   */
  enter(section) {
    if (section < 0 || section === this.section) return;
    this.section = section;
    this.place.section.value = String(section);
    this.sa.refresh(section);
  }

  /** Show all settings as they are now. */
  refresh() {
    const { settings } = this;
    if (settings.part) this.part.list.value = settings.part;
    this.part.size.value = String(Math.round(100 * settings.size));
    setText(this.part.percent, `${Math.round(100 * settings.size)} %`);
    this.level.slider.value = String(settings.level);
    setText(this.level.text, `${signed(settings.level)} dB`);
    this.level.loudspeaker.checked = settings.loudspeaker;
    this.tempo.count.refresh(settings);
    this.place.faster.refresh(settings);
    this.sing.value = String(settings.sing);
    this.place.loop.checked = settings.loop !== null;
    this.place.from.value = String(settings.stretch[0]);
    this.place.to.value = String(settings.stretch[1]);
    this.voices.forEach((voice, at) => {
      voice.mute.setAttribute("aria-pressed", String(isSilent(settings, at)));
      voice.level.value = String(settings.levels[at]);
      setText(voice.text, `${signed(settings.levels[at])} dB`);
    });
    this.refreshTempo();
    this.sa.refresh(this.section);
  }

  refreshTempo() {
    const { percent } = this;
    this.tempo.slider.value = String(percent);
    const beats = Math.round(data.tempo * this.settings.factor);
    setText(this.tempo.text, `${percent} % · ${beats} a minute at first`);
    this.tempo.slider.setAttribute("aria-valuetext", `${percent} per cent, ${beats} beats a minute at first`);
  }
}
