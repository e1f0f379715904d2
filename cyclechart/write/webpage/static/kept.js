// While the piece is written: what the page before leaves to the page after it.

/** What its player chose, and where it was: by cycle, for what comes before may have changed. */
function keep() {
  const { position } = player.now();
  const at = turnAt(data, position);
  const turn = data.turns[at];
  const length = turn ? turnEnd(turn) - turnStart(turn) : 0;
  return {
    settings: { ...settings, levels: [], muted: [] },
    voices: data.voices.map(({ name }, index) => [name, settings.levels[index], settings.muted[index]]),
    turns: data.turns.length,
    at,
    number: turn ? turn.number : 0,
    along: length ? (position - turnStart(turn)) / length : 0,
    size: partView.size,
    score: byId("score").scrollTop,
    desk: document.body.classList.contains("desk"),
    playing: player.state === "playing",
  };
}

/** Go on with what was kept, as far as it is still there. */
async function take(kept) {
  const same = kept.turns === data.turns.length;
  const numbered = data.turns.findIndex((turn) => turn.number && turn.number === kept.number);
  const found = !same && numbered >= 0 ? numbered : kept.at;
  const at = Math.min(found, data.turns.length - 1);
  const { part, loop, stretch, ...plain } = kept.settings;
  for (const name of ["level", "factor", "shift", "sing", "count", "drone", "keys"]) {
    settings[name] = plain[name];
  }
  for (const [name, level, muted] of kept.voices) {
    const index = data.voices.findIndex((voice) => voice.name === name);
    if (index < 0) continue;
    settings.levels[index] = level;
    settings.muted[index] = muted;
  }
  const inside = (edge) => Math.min(edge, data.turns.length - 1);
  // A stretch to the end goes to the new end.
  const whole = stretch[0] === 0 && stretch[1] === kept.turns - 1;
  settings.stretch = whole ? [0, data.turns.length - 1] : stretch.map(inside);
  settings.loop = loop ? [...settings.stretch] : null;
  if ([...controls.part.options].some((option) => option.value === part)) {
    controls.part.value = part;
    settings.part = part;
  }
  partView.size = kept.size;
  controls.refresh();
  openDesk(kept.desk);
  await partView.show(settings.part, settings.shift);
  byId("score").scrollTop = kept.score;
  const turn = data.turns[at];
  if (turn) player.go(turnStart(turn) + kept.along * (turnEnd(turn) - turnStart(turn)));
  paintNow();
  if (!kept.playing) return;
  const { count } = settings;
  settings.count = false;
  await player.play();
  settings.count = count;
}

if (data.live) Object.assign(window.__page, { keep, take });
