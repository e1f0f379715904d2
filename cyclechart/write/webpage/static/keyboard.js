// The keyboard. Keys act where no field needs them, and can be turned off.

/** @typedef {import("./actions.js").Actions} Actions */
/** @typedef {import("./settings.js").Settings} Settings */

/** @type {[keys: string[], description: string][]} */
export const KEY_HELP = [
  [["Space"], "play or pause"],
  [["Home"], "to the beginning"],
  [["←", "→"], "cycle before, next cycle"],
  [["Shift ←", "Shift →"], "section back, next section"],
  [["−", "+"], "slower, faster"],
  [["B"], "tap the beat"],
  [["[", "]"], "loop from this cycle, to this cycle"],
  [["L"], "loop on or off"],
  [["Enter"], "while a loop is chosen: this cycle"],
  [["Escape"], "close the settings, or end the choice or the loop"],
  [["S"], "sing back each cycle, or not"],
  [["C"], "count-in on or off"],
  [["M"], "mark this bar as weak, or no longer"],
  [["N"], "next weak bar"],
  [["D"], "drone on its own"],
  [[",", "."], "Sa lower, Sa higher"],
];

/**
 * @param {Actions} actions
 * @param {Settings} settings
 * @returns {Map<string, () => void>} by key
 */
function keyActions(actions, settings) {
  const tempoBy = (/** @type {number} */ percent) => () =>
    actions.tempo(Math.round(100 * settings.factor) + percent);
  return new Map([
    [" ", () => actions.toggle()],
    ["Home", () => actions.begin()],
    ["ArrowLeft", () => actions.step(-1)],
    ["ArrowRight", () => actions.step(1)],
    ["Shift ArrowLeft", () => actions.leap(-1)],
    ["Shift ArrowRight", () => actions.leap(1)],
    ["-", tempoBy(-5)],
    ["+", tempoBy(5)],
    ["=", tempoBy(5)],
    ["[", () => actions.loopEdge("from")],
    ["]", () => actions.loopEdge("to")],
    ["b", () => actions.tap(performance.now())],
    ["l", () => actions.loop(!settings.loop)],
    ["s", () => actions.sing(settings.sing ? 0 : 1)],
    ["c", () => actions.count(!settings.count)],
    ["d", () => actions.drone(!settings.drone)],
    [",", () => actions.shift(settings.shift - 1)],
    [".", () => actions.shift(settings.shift + 1)],
  ]);
}

/**
 * @param {Actions} actions
 * @param {Settings} settings
 */
export function listenToKeys(actions, settings) {
  const byKey = keyActions(actions, settings);
  document.addEventListener("keydown", (event) => {
    if (!settings.keys || event.ctrlKey || event.metaKey || event.altKey) return;
    const focused = event.target instanceof Element ? event.target : document.body;
    if (focused.closest("select, input[type='range']")) return;
    if (event.key === " " && focused.closest("button, input")) return;
    const key = event.key.length === 1 ? event.key.toLowerCase() : event.key;
    const action = byKey.get(event.shiftKey && key.startsWith("Arrow") ? `Shift ${key}` : key);
    if (!action || (event.repeat && key === " ")) return;
    event.preventDefault();
    action();
  });
}
