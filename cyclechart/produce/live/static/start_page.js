// The pieces of a folder to be opened, and a form for a new one.

import { button, make, setText } from "../../../write/webpage/static/elements.js";
import { ask, send } from "./requests.js";

/**
 * @typedef {object} Choices
 * @property {string} folder
 * @property {{name: string, title: string}[]} pieces
 * @property {boolean} drafts whether new pieces can be begun
 * @property {string[]} modes
 * @property {string[]} cycles
 * @property {string[]} tonics
 * @property {string[]} instruments
 */

const USUAL_BAND = ["flute", "double-bass", "tabla", "tanpura"];
const NO_ANSWER = "The command does not answer: it may have ended.";
/** @type {string[]} */
const players = [...USUAL_BAND];

/** @param {string} id */
function part(id) {
  const element = document.getElementById(id);
  if (!element) throw new Error(`The page has no element "${id}".`);
  return element;
}

/** @param {string} text "" for nothing */
function showMessage(text) {
  setText(part("message"), text);
  part("message").hidden = !text;
  if (text) part("message").scrollIntoView({ block: "nearest" });
}

/**
 * @param {string} path
 * @param {object} data
 */
async function goThere(path, data) {
  try {
    const { at, refused, field } = await send(path, data);
    if (refused) refuseField(refused, field ?? "");
    else location.assign(at);
  } catch {
    showMessage(NO_ANSWER);
  }
}

/**
 * @param {string} why
 * @param {string} field
 */
function refuseField(why, field) {
  showMessage(why);
  for (const one of document.querySelectorAll("[aria-invalid]")) one.removeAttribute("aria-invalid");
  const wrong = field === "players" ? part("more") : document.querySelector(`#form [name="${field}"]`);
  wrong?.setAttribute("aria-invalid", "true");
  if (wrong instanceof HTMLElement) wrong.focus();
}

/** @param {Choices["pieces"]} pieces */
function showPieces(pieces) {
  const items = pieces.map(({ name, title }) => {
    const open = button("", () => void goThere("open", { name }));
    open.append(make("strong", { dir: "auto" }, title), make("small", { dir: "auto" }, name));
    return make("li", {}, open);
  });
  if (!items.length) items.push(make("li", {}, "There is no piece in this folder yet."));
  part("pieces").replaceChildren(...items);
}

function showPlayers() {
  const buttons = players.map((name, at) => {
    const remove = () => {
      players.splice(at, 1);
      showPlayers();
    };
    return button(`${name} ×`, remove, { "aria-label": `Leave ${name} out` });
  });
  part("players").replaceChildren(...buttons);
}

function addPlayer() {
  const more = part("more");
  if (!(more instanceof HTMLInputElement) || !more.value.trim()) return;
  players.push(more.value.trim());
  more.value = "";
  showPlayers();
  more.focus();
}

/** @param {string[]} texts */
function options(texts) {
  return texts.map((value) => make("option", { value }, value));
}

async function start() {
  /** @type {Choices} */
  const choices = await ask("choices");
  setText(part("folder"), choices.folder);
  document.title = `${choices.folder}, live`;
  showPieces(choices.pieces);
  part("new").hidden = !choices.drafts;
  for (const id of /** @type {const} */ (["modes", "cycles", "instruments", "tonics"])) {
    part(id).replaceChildren(...options(choices[id]));
  }
  showPlayers();
}

part("add").addEventListener("click", addPlayer);
part("more").addEventListener("keydown", (event) => {
  if (event.key !== "Enter") return;
  event.preventDefault();
  addPlayer();
});
part("form").addEventListener("submit", (event) => {
  event.preventDefault();
  const form = part("form");
  if (!(form instanceof HTMLFormElement)) return;
  void goThere("new", { ...Object.fromEntries(new FormData(form)), players });
});
start().catch(() => showMessage(NO_ANSWER));
