// The keyboard. Keys act where no field needs them, and can be put off.

const KEYS_TOLD = [
  [["Space"], "play or pause"],
  [["Home"], "to the beginning"],
  [["←", "→"], "cycle before, next cycle"],
  [["Shift ←", "Shift →"], "section back, next section"],
  [["−", "+"], "slower, faster"],
  [["[", "]"], "loop from this cycle, to this cycle"],
  [["L"], "loop on or off"],
  [["S"], "sing back each cycle, or not"],
  [["C"], "count-in on or off"],
  [["D"], "drone on its own"],
  [[",", "."], "Sa lower, Sa higher"],
];

function keyActions(act, settings) {
  return {
    " ": () => act.toggle(),
    Home: () => act.begin(),
    ArrowLeft: () => act.step(-1),
    ArrowRight: () => act.step(1),
    "Shift ArrowLeft": () => act.leap(-1),
    "Shift ArrowRight": () => act.leap(1),
    "-": () => act.tempo(Math.round(100 * settings.factor) - 5),
    "+": () => act.tempo(Math.round(100 * settings.factor) + 5),
    "=": () => act.tempo(Math.round(100 * settings.factor) + 5),
    "[": () => act.loopEdge(0),
    "]": () => act.loopEdge(1),
    l: () => act.loop(!settings.loop),
    s: () => act.sing(settings.sing ? 0 : 1),
    c: () => act.count(!settings.count),
    d: () => act.drone(!settings.drone),
    ",": () => act.shift(settings.shift - 1),
    ".": () => act.shift(settings.shift + 1),
  };
}

function listenToKeys(act, settings) {
  const actions = keyActions(act, settings);
  document.addEventListener("keydown", (event) => {
    if (!settings.keys || event.ctrlKey || event.metaKey || event.altKey) return;
    const { target } = event;
    if (target.closest("select, input[type='range']")) return;
    if (event.key === " " && target.closest("button, input")) return;
    const key = event.key.length === 1 ? event.key.toLowerCase() : event.key;
    const named = event.shiftKey && key.startsWith("Arrow") ? `Shift ${key}` : key;
    const does = actions[named];
    if (!does || (event.repeat && key === " ")) return;
    event.preventDefault();
    does();
  });
}
