// The groups of the settings: one at a time on a phone, below each other where there is room.

import { byId } from "./data.js";
import { button, make, panel } from "./elements.js";

/** @typedef {"tempo" | "loop" | "part" | "sound" | "sa" | "practice" | "more"} GroupName */

/** @type {[name: GroupName, title: string][]} */
const GROUPS = [
  ["tempo", "Tempo"],
  ["loop", "Where"],
  ["part", "Part"],
  ["sound", "Sound"],
  ["sa", "Sa"],
  ["practice", "Practice"],
  ["more", "More"],
];

/** @typedef {{element: HTMLElement, tab: HTMLButtonElement}} Group */

/** @type {Map<GroupName, Group>} */
const groups = new Map(GROUPS.map(([name, title]) => [name, addGroup(name, title)]));

/**
 * @param {GroupName} name
 * @param {string} title
 * @returns {Group}
 */
function addGroup(name, title) {
  const id = `group-${name}`;
  const element = make("section", { id, class: "setting-group", tabindex: -1, "aria-label": title });
  const tab = button(title, () => showGroup(name), {
    "aria-controls": id,
    "aria-label": `${title} settings`,
  });
  byId("groups").append(tab);
  byId("panels").append(element);
  return { element, tab };
}

/**
 * Show a group: alone on a phone; elsewhere it is brought into view.
 * @param {GroupName} name
 */
function showGroup(name) {
  for (const [other, { element, tab }] of groups) {
    element.classList.toggle("shown", other === name);
    if (other === name) tab.setAttribute("aria-current", "true");
    else tab.removeAttribute("aria-current");
  }
  // Below each other, the first group is at the top of all.
  const panels = byId("panels");
  const place = groups.get(name)?.element;
  if (place) panels.scrollTop = place.offsetTop - panels.offsetTop;
}

/**
 * Add a panel of settings to a group.
 * @param {GroupName} group
 * @param {string} title
 * @param {(Node | string)[]} children
 */
export function addPanel(group, title, ...children) {
  groups.get(group)?.element.append(panel(title, ...children));
}

showGroup("tempo");
