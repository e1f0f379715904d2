// All together: what the controls do, and the picture that follows the sound.

const settings = {
  level: -12,
  factor: 1,
  shift: 0,
  loop: null,
  stretch: [0, Math.max(0, data.turns.length - 1)],
  sing: 0,
  count: true,
  drone: false,
  keys: true,
  part: "",
  levels: data.voices.map(() => 0),
  muted: data.voices.map(() => false),
};

const player = new Player(settings, (leapt) => refreshBar(leapt));
const cycleView = new CycleView();
const partView = new PartView();
let pending = 0;
let changedAt = -1000;

// Seconds into a section from which "back" leads to its own beginning.
const AGAIN = 1.5;

/** What sounds is made anew after a change, at once; while a slider is dragged every 90 ms. */
function replan() {
  controls.refresh();
  const wait = player.take ? Math.max(0, changedAt + 90 - performance.now()) : 0;
  clearTimeout(pending);
  const now = () => {
    changedAt = performance.now();
    player.replan();
  };
  if (wait) pending = setTimeout(now, wait);
  else now();
}

const act = {
  toggle() {
    if (player.state === "playing") player.pause();
    else player.play();
  },
  begin: () => player.stop(),
  step(by) {
    const here = turnAt(data, player.now().position);
    const at = Math.min(data.turns.length - 1, Math.max(0, here + by));
    player.go(turnStart(data.turns[at]));
  },
  leap(by) {
    const { position } = player.now();
    const { section } = data.turns[turnAt(data, position)] || { section: -1 };
    // Back is first to the beginning of this section.
    const inside = section >= 0 && position - data.sections[section].start > AGAIN;
    if (by < 0 && inside) this.section(section);
    else this.section(Math.min(data.sections.length - 1, Math.max(0, section + by)));
  },
  section(at) {
    const section = data.sections[at];
    if (!section) return;
    const { loop } = settings;
    const inside = !loop || (section.turns[0] >= loop[0] && section.turns[0] <= loop[1]);
    if (!inside) settings.loop = null;
    clearTimeout(pending);
    player.go(section.start);
    controls.refresh();
  },
  tempo(percent) {
    settings.factor = Math.min(140, Math.max(40, percent)) / 100;
    replan();
  },
  shift(semitones) {
    settings.shift = Math.min(6, Math.max(-5, semitones));
    partView.show(settings.part, settings.shift).then(paintNow);
    replan();
  },
  level(decibels) {
    settings.level = decibels;
    if (player.studio) player.studio.setLevel(decibels);
    controls.refresh();
  },
  voice(at, decibels) {
    settings.levels[at] = decibels;
    this.strip(at);
  },
  mute(at) {
    settings.muted[at] = !settings.muted[at];
    this.strip(at);
  },
  strip(at) {
    if (player.studio) player.studio.setVoice(at, settings.muted[at], settings.levels[at]);
    controls.refresh();
  },
  count(on) {
    settings.count = on;
    controls.refresh();
  },
  loop(on) {
    settings.loop = on ? [...settings.stretch] : null;
    this.looped();
  },
  looped() {
    if (settings.loop) {
      settings.loop = [...settings.stretch];
      const [first, last] = settings.loop.map((at) => data.turns[at]);
      const { position } = player.now();
      const inside = position >= turnStart(first) - HAIR && position < turnEnd(last) - HAIR;
      if (!inside && !player.take) player.position = turnStart(first);
    }
    replan();
  },
  loopFrom(at) {
    settings.stretch = [at, Math.max(at, settings.stretch[1])];
    this.looped();
  },
  loopTo(at) {
    settings.stretch = [Math.min(at, settings.stretch[0]), at];
    this.looped();
  },
  loopEdge(which) {
    const here = turnAt(data, player.now().position);
    settings.loop = [0, 0];
    if (which) this.loopTo(here);
    else this.loopFrom(here);
  },
  loopHere(what) {
    const here = turnAt(data, player.now().position);
    const section = data.sections[data.turns[here].section];
    const some = what === "section" && section && section.turns[1] > section.turns[0];
    // What leads into a section is practised with it.
    const [first, end] = some ? section.loop || section.turns : [here, here + 1];
    settings.stretch = [first, end - 1];
    settings.loop = [0, 0];
    this.looped();
  },
  sing(cycles) {
    settings.sing = cycles;
    replan();
  },
  drone(on) {
    settings.drone = on && data.drone.length > 0;
    player.wake();
    player.alone.update();
    controls.refresh();
  },
  part(name) {
    settings.part = name;
    partView.show(name, settings.shift).then(paintNow);
    controls.refresh();
  },
  size(times) {
    partView.size = times;
    partView.fit();
  },
};

/** Show where one is; `anew`: bring the part there even if its player has scrolled elsewhere. */
function paintNow(anew = false) {
  const place = player.now();
  cycleView.show(place, settings);
  partView.mark(place.position, anew === true);
  controls.enter(sectionAt(data, place.position));
}

function paint() {
  if (player.take) paintNow();
  requestAnimationFrame(paint);
}

const PLAY_SIGN = "M6 4 20 12 6 20z";
const PAUSE_SIGN = "M5 4h5v16H5zM14 4h5v16h-5z";

function refreshBar(leapt) {
  const playing = player.state === "playing";
  const play = byId("play");
  say(play.querySelector("span"), playing ? "Pause" : "Play");
  play.querySelector("path").setAttribute("d", playing ? PAUSE_SIGN : PLAY_SIGN);
  paintNow(leapt);
}

function openDesk(open) {
  document.body.classList.toggle("desk", open);
  byId("open").setAttribute("aria-expanded", String(open));
  byId("score").inert = open && getComputedStyle(byId("open")).display !== "none";
  if (open) byId("close").focus();
}

const controls = new Controls(settings, player, act);
settings.part = controls.part.value;
byId("play").addEventListener("click", () => act.toggle());
byId("begin").addEventListener("click", () => act.begin());
byId("back").addEventListener("click", () => act.leap(-1));
byId("on").addEventListener("click", () => act.leap(1));
byId("open").addEventListener("click", () => openDesk(!document.body.classList.contains("desk")));
byId("close").addEventListener("click", () => {
  openDesk(false);
  byId("open").focus();
});
addEventListener("resize", () => {
  if (getComputedStyle(byId("open")).display === "none") openDesk(false);
});
listenToKeys(act, settings);
say(byId("title"), data.title);
if (data.turns.length) paintNow();
partView.show(settings.part, 0).then(paintNow);
sounds.openAll();
requestAnimationFrame(paint);
