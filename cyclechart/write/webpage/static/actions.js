// What the controls and the keys do.

import { data, itemAt } from "./data.js";
import { loopTimes } from "./stretches.js";
import { TapTempo, writtenTempo } from "./tap_tempo.js";
import { TOLERANCE, turnAt, turnEnd, turnStart } from "./turns.js";
import { isSilent } from "./who_plays.js";

/** @typedef {import("./memory.js").Memory} Memory */
/** @typedef {import("./part_view.js").PartView} PartView */
/** @typedef {import("./player.js").Player} Player */
/** @typedef {import("./settings.js").Settings} Settings */

// Seconds into a section from which "back" leads to its own beginning.
const SECTION_START = 1.5;
// While a slider is dragged, the sound follows so often.
const REPLAN_MILLISECONDS = 90;

export class Actions {
  /**
   * @param {{settings: Settings, player: Player, partView: PartView, memory: Memory}} page
   * @param {() => void} refresh show the settings
   * @param {() => void} paint show the place
   */
  constructor({ settings, player, partView, memory }, refresh, paint) {
    this.settings = settings;
    this.player = player;
    this.partView = partView;
    this.memory = memory;
    this.refresh = refresh;
    this.paint = paint;
    this.replanTimer = 0;
    this.replannedAt = -1000;
    this.taps = new TapTempo();
  }

  /** The sound follows a change of the settings at once; while a slider is dragged, now and then. */
  replan() {
    this.refresh();
    const due = this.replannedAt + REPLAN_MILLISECONDS - performance.now();
    const wait = this.player.take ? Math.max(0, due) : 0;
    clearTimeout(this.replanTimer);
    const replanNow = () => {
      this.replannedAt = performance.now();
      this.player.replan();
    };
    if (wait) this.replanTimer = setTimeout(replanNow, wait);
    else replanNow();
  }

  /** The index of the turn that is heard now. */
  get turn() {
    return turnAt(data, this.player.now().position);
  }

  toggle() {
    this.player.toggle();
  }

  begin() {
    this.player.stop();
  }

  /** @param {number} turns forward; negative: back */
  step(turns) {
    const at = Math.min(data.turns.length - 1, Math.max(0, this.turn + turns));
    this.player.go(turnStart(data.turns[at]));
  }

  /** @param {number} sections forward; negative: back, at first to the beginning of this one */
  leap(sections) {
    const { position } = this.player.now();
    const section = itemAt(data.turns, turnAt(data, position))?.section ?? -1;
    const isInside = section >= 0 && position - data.sections[section].start > SECTION_START;
    if (sections < 0 && isInside) this.section(section);
    else this.section(Math.min(data.sections.length - 1, Math.max(0, section + sections)));
  }

  /** @param {number} at */
  section(at) {
    const section = itemAt(data.sections, at);
    if (!section) return;
    const { loop } = this.settings;
    const isInside = !loop || (section.turns[0] >= loop[0] && section.turns[0] <= loop[1]);
    if (!isInside) this.settings.loop = null;
    this.go(section.start);
  }

  /** @param {number} position */
  go(position) {
    clearTimeout(this.replanTimer);
    this.player.go(position);
    this.refresh();
  }

  /**
   * The tempo at which is tapped, as far as the page can be slower or faster.
   * @param {number} time of the tap in milliseconds
   */
  tap(time) {
    const beats = this.taps.tap(time);
    if (beats === null) return;
    const percent = (100 * beats) / writtenTempo(this.player.now().position);
    this.tempo(Math.round(10 * percent) / 10);
  }

  /**
   * To a bar, and out of the loop where it lies outside.
   * @param {number} position
   */
  bar(position) {
    const { loop, span } = this.settings;
    const [begin, end] = loop ? loopTimes(data, loop, span) : [0, data.length];
    const isInside = position >= begin - TOLERANCE && position < end - TOLERANCE;
    if (!isInside) this.settings.loop = null;
    this.go(position);
  }

  /**
   * Loop a part of the piece from one piece time to another.
   * @param {number} from
   * @param {number} to
   */
  loopSpan(from, to) {
    const { settings } = this;
    settings.stretch = [turnAt(data, from), turnAt(data, to - 2 * TOLERANCE)];
    settings.span = [from, to];
    settings.loop = [...settings.stretch];
    this.player.round = 1;
    this.player.isNewLoop = true;
    this.applyLoop();
  }

  /** @param {Partial<Settings["faster"]>} changes of the loop that gets faster */
  faster(changes) {
    const { settings, player } = this;
    settings.faster = { ...settings.faster, ...changes };
    if (changes.on) {
      settings.loop ??= [...settings.stretch];
      player.beginSteps();
    }
    this.applyLoop();
  }

  /** @param {number} percent */
  tempo(percent) {
    this.settings.factor = Math.min(140, Math.max(40, percent)) / 100;
    this.replan();
  }

  /** @param {number} semitones */
  shift(semitones) {
    this.settings.shift = Math.min(6, Math.max(-5, semitones));
    this.showPart();
    this.replan();
  }

  /** @param {number} cents above the tuning of the piece */
  cents(cents) {
    this.settings.cents = Math.min(100, Math.max(-100, Math.round(cents)));
    this.replan();
  }

  showPart() {
    void this.partView.show(this.settings.part, this.settings.shift).then(this.paint);
  }

  /** @param {number} decibels */
  level(decibels) {
    this.settings.level = decibels;
    this.player.studio?.setLevel(decibels);
    this.refresh();
  }

  /** @param {boolean} isOn */
  loudspeaker(isOn) {
    this.settings.loudspeaker = isOn;
    this.player.studio?.setBalance(isOn);
    this.refresh();
  }

  /**
   * @param {number} at
   * @param {number} decibels
   */
  voice(at, decibels) {
    this.settings.levels[at] = decibels;
    this.applyVoice(at);
  }

  /** @param {number} at */
  mute(at) {
    const { settings } = this;
    // Without me and only me become what they are, and can be changed from there.
    settings.muted = data.voices.map((_, voice) => isSilent(settings, voice) !== (voice === at));
    settings.who = "all";
    this.applyVoices();
  }

  /** @param {import("./who_plays.js").Who} who */
  who(who) {
    this.settings.who = who;
    this.applyVoices();
  }

  applyVoices() {
    data.voices.forEach((_, at) => this.applyVoice(at));
  }

  /** @param {number} at */
  applyVoice(at) {
    const { settings, player } = this;
    player.studio?.setVoice(at, isSilent(settings, at), settings.levels[at]);
    this.refresh();
  }

  /** @param {boolean} isOn */
  count(isOn) {
    this.settings.count = isOn;
    this.refresh();
  }

  /** @param {"none" | import("./turns.js").CountLength} length */
  countLength(length) {
    this.settings.count = length !== "none";
    if (length !== "none") this.settings.countLength = length;
    this.refresh();
  }

  /** @param {boolean} isOn */
  loop(isOn) {
    this.settings.loop = isOn ? [...this.settings.stretch] : null;
    this.applyLoop();
  }

  /** Take over the stretch into the loop, if there is one, and go into it. */
  applyLoop() {
    const { settings, player } = this;
    if (settings.loop) {
      settings.loop = [...settings.stretch];
      const [begin, end] = loopTimes(data, settings.loop, settings.span);
      const { position } = player.now();
      const isInside = position >= begin - TOLERANCE && position < end - TOLERANCE;
      if (!isInside && !player.take) player.position = begin;
    }
    this.replan();
  }

  /** @param {number} at */
  loopFrom(at) {
    this.settings.stretch = [at, Math.max(at, this.settings.stretch[1])];
    this.settings.span = null;
    this.applyLoop();
  }

  /** @param {number} at */
  loopTo(at) {
    this.settings.stretch = [Math.min(at, this.settings.stretch[0]), at];
    this.settings.span = null;
    this.applyLoop();
  }

  /** @param {"from" | "to"} edge of the loop that is to be the present turn */
  loopEdge(edge) {
    const here = this.turn;
    this.settings.loop = [here, here];
    if (edge === "to") this.loopTo(here);
    else this.loopFrom(here);
  }

  /**
   * Loop from a turn to another.
   * @param {number} first
   * @param {number} last
   */
  loopTurns(first, last) {
    this.settings.stretch = [first, last];
    this.settings.span = null;
    this.loop(true);
    const { position } = this.player.now();
    const [begin, end] = [turnStart(data.turns[first]), turnEnd(data.turns[last])];
    if (position < begin - TOLERANCE || position >= end - TOLERANCE) this.player.go(begin);
  }

  /** @param {"turn" | "section"} what */
  loopHere(what) {
    const here = this.turn;
    const section = itemAt(data.sections, data.turns[here].section);
    const isSection = what === "section" && section && section.turns[1] > section.turns[0];
    // What leads into a section is practised with it.
    const [first, end] = isSection ? section.loop : [here, here + 1];
    this.settings.stretch = [first, end - 1];
    this.settings.span = null;
    this.loop(true);
  }

  /** @param {number} cycles */
  sing(cycles) {
    this.settings.sing = cycles;
    this.replan();
  }

  /** @param {boolean} isOn */
  drone(isOn) {
    this.settings.drone = isOn && data.drone.length > 0;
    this.player.wake();
    this.player.updateDrone();
    this.refresh();
  }

  /**
   * The level of the drone: that of its player, too, where the band has one.
   * @param {number} decibels
   */
  droneLevel(decibels) {
    const at = data.voices.findIndex((voice) => voice.role === "drone");
    if (at >= 0) {
      this.voice(at, decibels);
      return;
    }
    this.settings.droneLevel = decibels;
    this.player.studio?.setDrone(decibels);
    this.refresh();
  }

  /** @param {number} times as fast as at first */
  dronePace(times) {
    this.settings.dronePace = Math.min(2, Math.max(0.5, times));
    this.refresh();
  }

  /** @param {string} tone of the first string; "": that of the piece */
  droneTone(tone) {
    this.settings.droneTone = tone;
    this.refresh();
  }

  /** All settings as in the piece. */
  reset() {
    this.memory.reset();
    this.applyAll();
  }

  /** Do all that the settings say, after they were set at once. */
  applyAll() {
    const { settings, player } = this;
    this.partView.size = settings.size;
    player.studio?.setLevel(settings.level);
    player.studio?.setBalance(settings.loudspeaker);
    player.studio?.setDrone(settings.droneLevel);
    data.voices.forEach((_, at) => player.studio?.setVoice(at, settings.muted[at], settings.levels[at]));
    player.updateDrone();
    this.showPart();
    this.replan();
  }

  /** @param {string} name */
  part(name) {
    this.settings.part = name;
    this.showPart();
    this.applyVoices();
  }

  /** @param {number} times as large as at first */
  size(times) {
    this.settings.size = times;
    this.partView.size = times;
    this.partView.fit();
    this.refresh();
  }
}
