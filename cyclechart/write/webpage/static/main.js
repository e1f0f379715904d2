// All together: the page's parts, its buttons, and the picture that follows the sound.

import { Actions } from "./actions.js";
import { Controls } from "./controls.js";
import { CycleView } from "./cycle_view.js";
import { byId, data } from "./data.js";
import { setText } from "./elements.js";
import { listenToKeys } from "./keyboard.js";
import { PartView } from "./part_view.js";
import { Memory } from "./memory.js";
import { Player } from "./player.js";
import { Practice } from "./practice.js";
import { settings } from "./settings.js";
import { sounds } from "./sounds.js";
import { sectionAt } from "./turns.js";

const PLAY_SIGN = "M6 4 20 12 6 20z";
const PAUSE_SIGN = "M5 4h5v16H5zM14 4h5v16h-5z";

export const player = new Player(settings, (hasLeapt) => refreshBar(hasLeapt));
const memory = new Memory();
const cycleView = new CycleView();
export const partView = new PartView();
export const actions = new Actions(
  { settings, player, partView, memory },
  () => {
    refreshSettings();
    memory.touch();
  },
  () => paintNow(),
);
export const controls = new Controls(settings, actions);
settings.part = controls.part.list.value;
memory.recall();
const closeDesk = () => {
  if (document.body.classList.contains("desk")) openDesk(false);
};
const practiceTools = new Practice(
  { settings, player, partView, actions },
  () => cycleView.fit(),
  closeDesk,
);

function refreshSettings() {
  controls.refresh();
  practiceTools.refresh();
}

/**
 * Show the place that is heard now.
 * @param {boolean} [isForced] bring the part there even if its player has scrolled elsewhere
 */
export function paintNow(isForced = false) {
  const place = player.now();
  cycleView.show(place, settings);
  practiceTools.show(place);
  partView.mark(place.position, isForced);
  controls.enter(sectionAt(data, place.position));
}

function paint() {
  if (player.take) paintNow();
  requestAnimationFrame(paint);
}

/** @param {boolean} hasLeapt */
function refreshBar(hasLeapt) {
  const isPlaying = player.isSounding;
  const play = byId("play");
  for (const label of play.querySelectorAll("span")) setText(label, isPlaying ? "Pause" : "Play");
  for (const sign of play.querySelectorAll("path")) {
    sign.setAttribute("d", isPlaying ? PAUSE_SIGN : PLAY_SIGN);
  }
  refreshSettings();
  paintNow(hasLeapt);
}

/** Whether the settings cover the part, as on a small screen. */
function isDeskInFront() {
  return getComputedStyle(byId("open")).display !== "none";
}

/** Whether open settings lie over the cycle as well, as on a small phone. */
function isCycleCovered() {
  return byId("desk").getBoundingClientRect().top < byId("cycle").getBoundingClientRect().bottom - 1;
}

/** @param {boolean} isOpen */
export function openDesk(isOpen) {
  document.body.classList.toggle("desk", isOpen);
  byId("open").setAttribute("aria-expanded", String(isOpen));
  byId("score").inert = isOpen && isDeskInFront();
  byId("cycle").inert = isOpen && isDeskInFront() && isCycleCovered();
  if (isOpen) byId("close").focus();
}

byId("play").addEventListener("click", () => actions.toggle());
byId("begin").addEventListener("click", () => actions.begin());
byId("back").addEventListener("click", () => actions.leap(-1));
byId("on").addEventListener("click", () => actions.leap(1));
byId("open").addEventListener("click", () => openDesk(!document.body.classList.contains("desk")));
byId("close").addEventListener("click", () => {
  openDesk(false);
  byId("open").focus();
});
addEventListener("keydown", (event) => {
  const isOpen = document.body.classList.contains("desk") && isDeskInFront();
  if (event.key !== "Escape" || !isOpen || event.defaultPrevented) return;
  openDesk(false);
  byId("open").focus();
});
addEventListener("resize", () => {
  if (!isDeskInFront()) openDesk(false);
});
listenToKeys(actions, settings);
setText(byId("title"), data.title);
if (data.turns.length) paintNow();
actions.applyAll();
void sounds.openAll();
requestAnimationFrame(paint);
