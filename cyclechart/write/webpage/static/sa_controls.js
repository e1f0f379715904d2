// The settings of Sa and of the drone on its own.

import { saIn } from "./cycle_words.js";
import { byId, data, itemAt } from "./data.js";
import { button, dropdown, make, row, setText, signed, slider } from "./elements.js";
import { addPanel } from "./setting_groups.js";

/** @typedef {import("./actions.js").Actions} Actions */
/** @typedef {import("./settings.js").Settings} Settings */

// Where the A of the page's tuning lies, whatever its Sa: no further from 440 Hz than half an octave.
const CONCERT_A = 440;
const A_ABOVE_C = 9;

/** The frequency of the A in the tuning of the piece, at its equal distance from the written Sa. */
function writtenA() {
  const near = data.hertz * 2 ** ((A_ABOVE_C - data.key) / 12);
  return near * 2 ** Math.round(Math.log2(CONCERT_A / near));
}

/**
 * The A when all sounds are moved by so many cents.
 * @param {number} cents
 */
function movedA(cents) {
  return writtenA() * 2 ** (cents / 1200);
}

export class SaControls {
  /**
   * @param {Settings} settings
   * @param {Actions} actions
   */
  constructor(settings, actions) {
    this.settings = settings;
    this.actions = actions;
    this.sa = this.addSaPanel();
    this.tuning = this.addTuningPanel();
    this.drone = this.addDronePanel();
  }

  addSaPanel() {
    const text = make("output");
    const change = (/** @type {string} */ sign, /** @type {number} */ semitones, /** @type {string} */ name) => {
      const clicked = () => this.actions.shift(this.settings.shift + semitones);
      return button(sign, clicked, { class: "small", "aria-label": name });
    };
    const lower = change("−", -1, "Sa a semitone lower");
    const higher = change("+", 1, "Sa a semitone higher");
    const note = make("p", { role: "status" });
    addPanel("sa", "Sa", row(lower, text, higher), note);
    return { lower, higher, text, note };
  }

  addTuningPanel() {
    const range = { min: -100, max: 100, step: 1, value: 0 };
    const cents = slider("All sounds moved, in cents", range, (value) => this.actions.cents(value));
    const text = make("output");
    const change = (/** @type {string} */ sign, /** @type {number} */ hertz, /** @type {string} */ name) => {
      const clicked = () => {
        // To the next whole number of hertz, from one that is not.
        const now = movedA(this.settings.cents);
        const nearest = Math.round(now);
        const wanted = (Math.abs(now - nearest) < 0.15 ? nearest : now) + hertz;
        this.actions.cents(1200 * Math.log2(Math.round(wanted) / writtenA()));
      };
      return button(sign, clicked, { class: "small", "aria-label": name });
    };
    const written = button("As in the piece", () => this.actions.cents(0));
    addPanel(
      "sa",
      "Tuning to an instrument",
      cents,
      row(change("−", -1, "A one hertz lower"), text, change("+", 1, "A one hertz higher")),
      row(written),
    );
    return { cents, text };
  }

  addDronePanel() {
    const toggle = () => this.actions.drone(!this.settings.drone);
    const isOn = button("Drone on its own", toggle, { "aria-pressed": "false" });
    const levels = { min: -30, max: 12, step: 1, value: 0 };
    const level = slider("Level of the drone, in decibels", levels, (value) => this.actions.droneLevel(value));
    const levelText = make("output", { class: "short" });
    const paces = { min: 50, max: 200, step: 5, value: 100 };
    const pace = slider("Speed of its plucks, in per cent", paces, (value) =>
      this.actions.dronePace(value / 100),
    );
    const paceText = make("output", { class: "short" });
    /** @type {[string, string][]} */
    const tones = [["", "as in the piece"], ...data.drone_tones.map(([tone]) => /** @type {[string, string]} */ ([tone, tone]))];
    const tone = dropdown("First string of the drone", tones, (value) => this.actions.droneTone(value));
    const short = (/** @type {string} */ text) => make("span", { class: "short" }, text);
    const controls = [isOn, level, pace, tone];
    for (const control of controls) control.disabled = data.drone.length === 0;
    const about = data.drone.length
      ? "It sounds before and after the piece too, to tune and to sing by."
      : "This piece has no drone.";
    addPanel(
      "sa",
      "Drone",
      row(isOn),
      make("p", {}, about),
      row(short("Level"), level, levelText),
      row(short("Plucks"), pace, paceText),
      row(short("First"), tone),
    );
    return { isOn, level, levelText, pace, paceText, tone };
  }

  /**
   * Show Sa as it is in a section, and what was chosen.
   * @param {number} section
   */
  refresh(section) {
    const { shift, part } = this.settings;
    const here = itemAt(data.sections, section);
    const name = saIn(here, shift);
    setText(this.sa.text, `Sa is ${name}${shift ? ` (${signed(shift)})` : ", as written"}`);
    const { mode, sa } = here ?? data;
    const sounding = shift ? `Sa is ${name}, written ${sa}` : `Sa is ${sa}`;
    // What changes stands first: where the line is short, the end is cut.
    setText(byId("under"), [mode, sounding, data.composer].filter(Boolean).join(" · "));
    this.sa.lower.disabled = shift <= -5;
    this.sa.higher.disabled = shift >= 6;
    const hasPart = part in (data.parts[String(shift)] ?? {});
    setText(this.sa.note, "For this Sa no part is written: it stays as it is, and only the sound moves.");
    this.sa.note.hidden = shift === 0 || hasPart;
    this.refreshTuning();
    this.refreshDrone();
  }

  refreshTuning() {
    const { cents } = this.settings;
    const words = `${signed(cents)} cents · A = ${movedA(cents).toFixed(1)} Hz`;
    setText(this.tuning.text, words);
    this.tuning.cents.value = String(cents);
    this.tuning.cents.setAttribute("aria-valuetext", words);
  }

  refreshDrone() {
    const { drone, dronePace, droneTone, droneLevel, levels } = this.settings;
    const at = data.voices.findIndex((voice) => voice.role === "drone");
    const level = at < 0 ? droneLevel : levels[at];
    this.drone.isOn.setAttribute("aria-pressed", String(drone));
    this.drone.level.value = String(level);
    setText(this.drone.levelText, `${signed(level)} dB`);
    this.drone.pace.value = String(Math.round(100 * dronePace));
    setText(this.drone.paceText, `${Math.round(100 * dronePace)} %`);
    this.drone.tone.value = droneTone;
    if (this.drone.tone.selectedIndex < 0) this.drone.tone.value = "";
  }
}
