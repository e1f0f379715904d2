// While a piece is being written: what each new page takes over from the page before it.

import { cellNear, cellNow, markCell } from "./cell_marks.js";
import { byId, data, itemAt } from "./data.js";
import { controls, openDesk, paintNow, partView, player } from "./main.js";
import { settings } from "./settings.js";
import { hooks } from "./test_hooks.js";
import { turnAt, turnEnd, turnStart } from "./turns.js";

/** @typedef {import("./settings.js").Settings} Settings */

/**
 * The state of a page: `voices` are (name, level, muted), `turns` how many there are, `at` the present
 * turn, `number` the number of its cycle, `along` how much of it has passed.
 * @typedef {object} LiveState
 * @property {Settings} settings
 * @property {[name: string, level: number, muted: boolean][]} voices
 * @property {number} turns
 * @property {number} at
 * @property {number} number
 * @property {number} along
 * @property {number} size
 * @property {number} score
 * @property {boolean} desk
 * @property {boolean} playing
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
    settings: { ...settings },
    voices: data.voices.map(({ name }, index) => [name, settings.levels[index], settings.muted[index]]),
    turns: data.turns.length,
    at,
    number: turn ? turn.number : 0,
    along: turn && length ? (position - turnStart(turn)) / length : 0,
    size: partView.size,
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

/** @param {LiveState} state */
function restoreSettings(state) {
  const { part, loop, stretch, level, factor, shift, sing, count, drone, keys } = state.settings;
  const { countLength, faster, who } = state.settings;
  Object.assign(settings, { level, factor, shift, sing, count, drone, keys, countLength, faster, who });
  for (const [name, voiceLevel, muted] of state.voices) {
    const index = data.voices.findIndex((voice) => voice.name === name);
    if (index < 0) continue;
    settings.levels[index] = voiceLevel;
    settings.muted[index] = muted;
  }
  const last = data.turns.length - 1;
  // A stretch to the end goes to the new end.
  const isWhole = stretch[0] === 0 && stretch[1] === state.turns - 1;
  settings.stretch = isWhole ? [0, last] : [Math.min(stretch[0], last), Math.min(stretch[1], last)];
  settings.loop = loop ? [...settings.stretch] : null;
  if ([...controls.part.options].some((option) => option.value === part)) {
    controls.part.value = part;
    settings.part = part;
  }
}

/**
 * Go on with a state, as far as this page has the same.
 * @param {LiveState} state
 */
async function restoreState(state) {
  restoreSettings(state);
  partView.size = state.size;
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
