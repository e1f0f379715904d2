// Beside the player's buttons: loop, without me, only me; what the page has to say; rests counted down.

import { BarView } from "./bars.js";
import { byId, data } from "./data.js";
import { button, make, setText } from "./elements.js";
import { LoopChoice } from "./loop_choice.js";
import { playedSpans, restAt, restWords } from "./rests.js";
import { loopTimes } from "./stretches.js";
import { sectionAt, turnAt } from "./turns.js";
import { hasVoice } from "./who_plays.js";

/** @typedef {import("./actions.js").Actions} Actions */
/** @typedef {import("./part_view.js").PartView} PartView */
/** @typedef {import("./player.js").Player} Player */
/** @typedef {import("./rests.js").Rest} Rest */
/** @typedef {import("./rests.js").Span} Span */
/** @typedef {import("./schedule.js").Place} Place */
/** @typedef {import("./settings.js").Settings} Settings */

const LEFT_ALONE = "No sound comes: another program or a call has it, or no loudspeaker is connected.";

const smallScreen = matchMedia("(max-height: 700px) and (max-width: 559px)");

export class Practice {
  /**
   * @param {{settings: Settings, player: Player, partView: PartView, actions: Actions}} page
   * @param {() => void} resized called where the words of a rest need other room
   * @param {() => void} closeDesk show the part instead of the settings
   */
  constructor({ settings, player, partView, actions }, resized, closeDesk) {
    this.settings = settings;
    this.player = player;
    this.partView = partView;
    this.resized = resized;
    this.closeDesk = closeDesk;
    this.barView = new BarView(partView);
    this.choice = new LoopChoice(actions, this.barView, () => this.refresh());
    const toggle = (/** @type {"without" | "only"} */ who) => () =>
      actions.who(settings.who === who ? "all" : who);
    const pressed = { "aria-pressed": "false" };
    this.loop = button("Loop", () => this.pressLoop(actions), pressed);
    this.without = button("Without me", toggle("without"), pressed);
    this.only = button("Only me", toggle("only"), pressed);
    this.text = make("p", { id: "notice", role: "status" });
    this.here = button("This cycle", () => this.choice.takeHere());
    this.cancel = button("Cancel", () => this.choice.end());
    this.strip = make("div", { id: "strip" }, this.text, this.here, this.cancel);
    this.group = make(
      "div",
      { id: "practice", role: "group", "aria-label": "Practice" },
      this.loop, this.without, this.only,
    );
    byId("bar").prepend(this.strip);
    this.place();
    smallScreen.addEventListener("change", () => this.place());
    this.rest = make("p", { id: "rest", dir: "auto" });
    byId("where").append(this.rest);
    /** @type {Span[]} those in which the player of the shown part plays */
    this.spans = [];
    this.readFrom = "";
    this.shownRest = "";
    // A press anywhere lets the sound come back.
    document.addEventListener("click", () => {
      if (player.isCut) player.wake();
    });
    this.refresh();
  }

  /** On a small phone the part needs the room of these buttons: they stand first among the settings. */
  place() {
    if (smallScreen.matches) byId("panels").prepend(this.group);
    else this.strip.after(this.group);
    this.resized();
  }

  /** @param {Actions} actions */
  pressLoop(actions) {
    if (this.choice.isOn) this.choice.end();
    else if (this.settings.loop) actions.loop(false);
    else {
      this.closeDesk();
      this.choice.begin();
      byId("score").focus({ preventScroll: true });
    }
  }

  /** @returns {Span | null} */
  get loopTimes() {
    const { loop, span } = this.settings;
    return loop && data.turns.length ? loopTimes(data, loop, span) : null;
  }

  /** Show what is chosen, and what the page has to say. */
  refresh() {
    const { settings, choice } = this;
    const isChosen = settings.loop !== null || choice.isOn;
    this.loop.setAttribute("aria-pressed", String(isChosen));
    this.loop.disabled = !data.turns.length;
    for (const [who, one] of /** @type {const} */ ([["without", this.without], ["only", this.only]])) {
      one.setAttribute("aria-pressed", String(settings.who === who));
      one.disabled = !hasVoice(settings.part);
    }
    this.barView.mark(choice.chosen ?? this.loopTimes);
    this.here.hidden = !choice.isOn;
    this.cancel.hidden = !choice.isOn;
    this.refreshWords();
  }

  refreshWords() {
    const words = this.words();
    setText(this.text, words);
    const wasHidden = this.strip.hidden;
    this.strip.hidden = !words;
    if (wasHidden !== this.strip.hidden) this.resized();
  }

  words() {
    const { player, choice, settings } = this;
    if (player.isCut) {
      const press = player.state === "playing" ? "Press Play to go on." : "Press any button to go on.";
      return `${LEFT_ALONE} ${press}`;
    }
    if (choice.isOn) {
      const which = choice.first ? "last" : "first";
      return this.barView.bars.length
        ? `Loop: tap its ${which} bar, or drag over bars. Enter takes the cycle heard now.`
        : `Loop: press "This cycle" in its ${which} cycle.`;
    }
    if (!settings.loop || !settings.faster.on) return "";
    const { every, to } = settings.faster;
    const percent = Math.round(100 * settings.factor);
    const round = player.now().stretch?.round ?? player.round;
    const count = percent < to ? `round ${Math.min(round, every)} of ${every}` : `round ${round}`;
    return `Loop at ${percent} %, ${count}${percent < to ? `, up to ${to} %` : ""}`;
  }

  /**
   * The rest of the shown player at a place; null where they play.
   * @param {Place} place
   */
  restAt({ position }) {
    const { part } = this.settings;
    const key = `${part} ${this.partView.drawn}`;
    if (key !== this.readFrom) {
      this.readFrom = key;
      this.spans = playedSpans(data, part, this.partView.notes);
      this.refresh();
    }
    return restAt(data, this.spans, position, this.loopTimes);
  }

  /**
   * All that the words of a rest depend on: they change with a cycle, not with a frame of the screen.
   * @param {Rest} rest
   * @param {number} position
   */
  restKey({ entry, left }, position) {
    const { part, loop } = this.settings;
    return [entry, left, turnAt(data, position), sectionAt(data, position), loop !== null, part].join(" ");
  }

  /**
   * Show a place; fast, for it runs with every frame of the screen.
   * @param {Place} place
   */
  show(place) {
    const rest = this.restAt(place);
    this.partView.entry = rest ? rest.entry : null;
    const key = rest ? this.restKey(rest, place.position) : "";
    if (key !== this.shownRest) {
      this.shownRest = key;
      const words = rest ? restWords(data, rest, place.position, this.settings) : "";
      setText(this.rest, words);
      this.rest.hidden = !words;
      this.resized();
    }
    if (this.settings.faster.on) this.refreshWords();
  }
}
