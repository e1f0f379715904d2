// While a piece is being written: what each new page takes over from the page before it.

import { cellNear, cellNow, markCell } from "./cell_marks.js";
import { byId, data, itemAt } from "./data.js";
import { controls, openDesk, paintNow, partView, player } from "./main.js";
import { restoreSettings, settingsToSave } from "./memory.js";
import { settings } from "./settings.js";
import { hooks } from "./test_hooks.js";
import { turnAt, turnEnd, turnStart } from "./turns.js";

/**
 * The state of a page: its settings, and the place: `at` is the present turn, `number` the number of its
 * cycle, `along` how much of it has passed.
 * @typedef {object} PlaceState
 * @property {number} at
 * @property {number} number
 * @property {number} along
 * @property {number} score
 * @property {boolean} desk
 * @property {boolean} playing
 * @typedef {import("./memory.js").SavedSettings & PlaceState} LiveState
 */

/**
 * The settings of the page, and the place by its cycle, for what comes before may be changed.
 * @returns {LiveState}
 */
function saveState() {
  const { position } = player.now();
  const at = turnAt(data, position);
  const turn = itemAt(data.turns, at);
  const length = turn ? turnEnd(turn) - turnStart(turn) : 0;
  return {
    ...settingsToSave(),
    at,
    number: turn ? turn.number : 0,
    along: turn && length ? (position - turnStart(turn)) / length : 0,
    score: byId("score").scrollTop,
    desk: document.body.classList.contains("desk"),
    playing: player.state === "playing",
  };
}

/**
 * The index of the turn to go on from: by its number where turns were added or taken out.
 * @param {LiveState} state
 */
function turnOf(state) {
  const numbered = data.turns.findIndex((turn) => turn.number > 0 && turn.number === state.number);
  const isSameLength = state.turns === data.turns.length;
  return Math.min(!isSameLength && numbered >= 0 ? numbered : state.at, data.turns.length - 1);
}

/**
 * Go on with a state, as far as this page has the same.
 * @param {LiveState} state
 */
async function restoreState(state) {
  restoreSettings(state);
  partView.size = settings.size;
  controls.refresh();
  openDesk(state.desk);
  await partView.show(settings.part, settings.shift);
  byId("score").scrollTop = state.score;
  const turn = itemAt(data.turns, turnOf(state));
  if (turn) player.go(turnStart(turn) + state.along * (turnEnd(turn) - turnStart(turn)));
  paintNow();
  if (!state.playing) return;
  const { count } = settings;
  settings.count = false;
  await player.play();
  settings.count = count;
}

/**
 * What the page around this one uses. `onNote`: called with the place in the text of a note that is
 * tapped.
 * @typedef {object} LiveHooks
 * @property {typeof saveState} saveState
 * @property {typeof restoreState} restoreState
 * @property {typeof markCell} markCell
 * @property {(start: number, end: number) => void} onNote
 */

if (data.live) {
  /** @type {LiveHooks} */
  const live = { saveState, restoreState, markCell, onNote: () => {} };
  Object.assign(hooks, live);
  const follow = (/** @type {import("./cell_marks.js").Cell | null} */ cell) => {
    if (cell) /** @type {LiveHooks} */ (Reflect.get(window, "__page")).onNote(cell[0], cell[1]);
  };
  byId("score").addEventListener("click", ({ clientX, clientY }) => follow(cellNear(clientX, clientY)));
  document.addEventListener("keydown", (event) => {
    const isOther = event.ctrlKey || event.metaKey || event.altKey || !settings.keys;
    if (isOther || event.key.toLowerCase() !== "t") return;
    if (event.target instanceof Element && event.target.closest("select, input")) return;
    follow(cellNow());
  });
}
