// The settings for practising: weak bars, and the time practised.

import { MarkingMode, frameWeakBars } from "./bar_marking.js";
import { sectionWords, turnWords } from "./cycle_words.js";
import { data, itemAt } from "./data.js";
import { isStorageKept } from "./device_storage.js";
import { button, confirmedButton, make, row, setText } from "./elements.js";
import { actions, openDesk, partView, player } from "./main.js";
import {
  PracticeClock, clearPractice, minutesText, practiceRows, practiceText, today,
} from "./practice_log.js";
import { addPanel } from "./setting_groups.js";
import { settings } from "./settings.js";
import { turnAt, turnStart } from "./turns.js";
import { WeakBars } from "./weak_bars.js";

const LOOK_MILLISECONDS = 1000;
// Seconds of playing after which they are kept.
const KEEP_SECONDS = 15;
const MOST_ROWS_SHOWN = 30;
// The list of a piece that is weak throughout is cut.
const MOST_MARKS_SHOWN = 60;

/** @param {number} turn */
function placeWords(turn) {
  const here = data.turns[turn];
  return [sectionWords(itemAt(data.sections, here.section)), turnWords(here)].filter(Boolean).join(" · ");
}

class WeakBarsPanel {
  constructor() {
    this.weak = new WeakBars();
    this.marking = new MarkingMode((turn) => this.toggle(turn));
    this.marking.changed = () => this.refresh();
    this.mode = button("Mark by tapping", () => this.startMarking(), { "aria-pressed": "false" });
    this.here = button("Mark this bar", () => this.toggleHere());
    this.next = button("Next weak bar", () => this.goToNext());
    this.list = make("ul", { class: "marks", "aria-label": "Weak bars" });
    this.words = make("p", { role: "status" });
    this.clear = confirmedButton("Remove all marks", "Remove them for good", () => {
      this.weak.clear();
      this.refresh();
    });
    addPanel(
      "practice",
      "Weak bars",
      row(this.mode, this.here),
      row(this.next),
      this.words,
      this.list,
      row(this.clear),
    );
    partView.onDraw = () => frameWeakBars(this.weak);
    this.refresh();
  }

  startMarking() {
    this.marking.set(!this.marking.isOn);
    // On a phone the part has to be seen.
    if (this.marking.isOn) openDesk(false);
  }

  /** @param {number} turn */
  toggle(turn) {
    this.weak.toggle(turn);
    this.refresh();
  }

  toggleHere() {
    this.toggle(turnAt(data, player.now().position));
  }

  goToNext() {
    const turn = this.weak.next(player.now().position);
    if (turn !== undefined) this.go(turn);
  }

  /** @param {number} turn */
  go(turn) {
    const { loop } = settings;
    if (loop && (turn < loop[0] || turn > loop[1])) actions.loop(false);
    player.go(turnStart(data.turns[turn]));
  }

  /** @param {number} turn */
  loop(turn) {
    actions.loopTurns(turn, turn);
  }

  refresh() {
    const { turns } = this.weak;
    this.mode.setAttribute("aria-pressed", String(this.marking.isOn));
    this.next.disabled = turns.length === 0;
    this.clear.disabled = this.weak.marked.size === 0;
    const lost = this.weak.marked.size - turns.length;
    const more = turns.length > MOST_MARKS_SHOWN ? `The first ${MOST_MARKS_SHOWN} of ${turns.length}. ` : "";
    const gone = lost ? `${lost} more of bars that the piece has no longer.` : "";
    setText(this.words, turns.length || lost ? more + gone : "No bar is marked yet.");
    this.list.replaceChildren(...turns.slice(0, MOST_MARKS_SHOWN).map((turn) => this.entry(turn)));
    frameWeakBars(this.weak);
  }

  /** @param {number} turn */
  entry(turn) {
    const words = placeWords(turn);
    return make(
      "li",
      {},
      button(words, () => this.go(turn), { "aria-label": `Go to ${words}` }),
      button("Loop", () => this.loop(turn), { "aria-label": `Loop ${words}` }),
      button("Remove", () => this.toggle(turn), { "aria-label": `Remove the mark of ${words}` }),
    );
  }
}

class PracticePanel {
  constructor() {
    this.clock = new PracticeClock();
    this.words = make("p");
    this.table = make("tbody");
    this.text = make("textarea", { readonly: true, rows: 6, "aria-label": "Time practised, as text" });
    this.copied = make("p", { role: "status" });
    const heads = ["Day", "Piece", "Time"].map((head) => make("th", { scope: "col" }, head));
    const days = make(
      "details",
      { "aria-label": "All days practised", on: { toggle: () => this.refresh() } },
      make("summary", {}, "All days"),
      make("table", {}, make("thead", {}, make("tr", {}, ...heads)), this.table),
      this.text,
      row(
        button("Copy as text", () => void this.copy()),
        confirmedButton("Clear", "Clear all days for good", () => {
          clearPractice();
          this.refresh();
        }),
      ),
      this.copied,
    );
    addPanel("practice", "Time practised", this.words, days);
    this.timer = setInterval(() => this.look(), LOOK_MILLISECONDS);
    addEventListener("pagehide", () => this.keep());
    document.addEventListener("visibilitychange", () => this.keep());
    this.refresh();
  }

  look() {
    this.clock.look(player.take !== null, performance.now());
    const isOver = player.take === null && this.clock.pending >= 1;
    if (isOver || this.clock.pending >= KEEP_SECONDS) this.keep();
  }

  keep() {
    this.clock.look(player.take !== null, performance.now());
    this.clock.keep();
    this.refresh();
  }

  async copy() {
    this.text.value = practiceText();
    try {
      await navigator.clipboard.writeText(this.text.value);
      setText(this.copied, "Copied.");
    } catch {
      // Some browsers let no page of a file copy: the text is selected, to be copied by hand.
      this.text.focus();
      this.text.select();
      setText(this.copied, "Copy the text that is selected.");
    }
  }

  refresh() {
    const rows = practiceRows();
    const day = today();
    const ofToday = rows.filter((one) => one.day === day);
    const all = ofToday.reduce((sum, one) => sum + one.seconds, 0);
    const here = ofToday.find((one) => one.piece === data.title)?.seconds ?? 0;
    const others = all > here ? `, ${minutesText(all)} with other pieces` : "";
    setText(this.words, `Today on this piece: ${minutesText(here)}${others}.`);
    this.text.value = practiceText();
    this.table.replaceChildren(
      ...rows.slice(0, MOST_ROWS_SHOWN).map((one) =>
        make(
          "tr",
          {},
          make("td", {}, one.day),
          make("td", { dir: "auto" }, one.piece),
          make("td", {}, minutesText(one.seconds)),
        ),
      ),
    );
  }
}

/** What is kept on the device, and how to forget it. */
function addMemoryPanel() {
  const words = isStorageKept()
    ? "Settings, marks and time practised are kept in this browser, for each piece. Nothing is sent."
    : "This browser keeps nothing for this page: settings, marks and time practised are forgotten with it.";
  addPanel(
    "more",
    "This device",
    make("p", {}, words),
    row(confirmedButton("Settings as in the piece", "Forget my settings of this piece", () => actions.reset())),
  );
}

const weakBars = new WeakBarsPanel();
export const practice = new PracticePanel();
addMemoryPanel();

document.addEventListener("keydown", (event) => {
  if (!settings.keys || event.ctrlKey || event.metaKey || event.altKey || event.repeat) return;
  if (event.target instanceof Element && event.target.closest("select, input, textarea")) return;
  if (event.key.toLowerCase() === "m") weakBars.toggleHere();
  if (event.key.toLowerCase() === "n") weakBars.goToNext();
});
