// A piece while it is written: its text, its findings, and its rehearsal page, put together.

import { Checking } from "./checking.js";
import { Drafts } from "./drafts.js";
import { button, setText } from "../../../write/webpage/static/elements.js";
import { FindingsList } from "./findings_list.js";
import { Divider, rememberedLayout, rememberLayout } from "./layout.js";
import { MergeView } from "./merge_view.js";
import { PageFrame } from "./page_frame.js";
import { found } from "./page_parts.js";
import { ask } from "./requests.js";
import { Saving } from "./saving.js";
import { TextPane } from "./text_pane.js";
import { rowStart } from "./texts.js";

/** @typedef {import("./requests.js").FileAnswer} FileAnswer */
/** @typedef {import("./requests.js").Finding} Finding */
/** @typedef {import("./requests.js").News} News */

const RETRY_MILLISECONDS = 2000;
const KEEP_PAUSE = 250;
const SAVE_PAUSE = 1500;
const ENDED = "The command has ended. What is here can still be played, and the text is kept.";

const field = found("text", HTMLTextAreaElement);
const main = found("main", HTMLElement);
const notice = found("notice", HTMLElement);
const layout = rememberedLayout();
/** @type {News | null} */
let news = null;
/** @type {Drafts | null} */
let drafts = null;
/** @type {{name: string, draft: import("./drafts.js").Draft}[]} */
let leftDrafts = [];
let keepTimer = 0;
let saveTimer = 0;

const pane = new TextPane(
  { field, gutter: found("gutter", HTMLElement), marks: found("marks", HTMLElement) },
  { changed: textChanged, caret: markCaret, chosen: (finding) => list.choose(finding, true) },
);
const saving = new Saving(pane, { state: showState, other: showOther, refused: refuse });
const list = new FindingsList(found("findings", HTMLElement), {
  go: goTo,
  apply: (one) => {
    // While a text is judged again, places are those of the text before.
    if (pane.text === checking.done) pane.edit(one.edits);
  },
});
const checking = new Checking(() => (saving.isLoaded ? pane.text : null), {
  show: showFindings,
  failed: () => setText(found("state", HTMLElement), ENDED),
});
const merging = new MergeView(
  found("merge", HTMLDialogElement),
  found("blocks", HTMLElement),
  found("use", HTMLButtonElement),
);
const page = new PageFrame(found("page", HTMLIFrameElement), {
  note: goToCell,
  ready: markCaret,
  key: shellKey,
});

/** @param {Finding} finding */
function goTo(finding) {
  if (!finding.span) return;
  list.choose(finding, false);
  const placed = pane.findings.find((one) => one.message === finding.message && one.line === finding.line);
  const [start, end] = placed?.span ?? finding.span;
  showText();
  pane.select(start, end, !isTouched());
}

/** Whether fingers do the pointing: then a focus would bring up the keyboard on the screen. */
function isTouched() {
  return matchMedia("(pointer: coarse)").matches;
}

/** The text is brought to where it can be seen. */
function showText() {
  if (layout.view === "page") setView("both");
}

/**
 * A note was tapped on the page.
 * @param {number} start of its cell, in the text that the page is drawn from
 * @param {number} end
 */
function goToCell(start, end) {
  const version = news?.drawn_from ?? "";
  const from = pane.log.forward(version, start) ?? start;
  const last = pane.log.forward(version, Math.max(start, end - 1)) ?? end - 1;
  showText();
  pane.select(from, Math.min(pane.text.length, Math.max(from, last + 1)), !isTouched());
}

/** The note of the cell at the caret is marked on the page. */
function markCaret() {
  const version = news?.drawn_from ?? "";
  const { caret, log, text } = pane;
  const row = rowStart(text, caret);
  page.markCell(log.back(version, row) ?? row, log.back(version, caret) ?? caret);
}

function textChanged() {
  saving.settle();
  checking.soon();
  clearTimeout(keepTimer);
  keepTimer = setTimeout(keepDraft, KEEP_PAUSE);
  clearTimeout(saveTimer);
  if (layout.saves) saveTimer = setTimeout(saveByItself, SAVE_PAUSE);
  showState();
}

function saveByItself() {
  if (saving.state === "unsaved") void saving.save();
}

/**
 * @param {Finding[]} findings
 * @param {string} state
 */
function showFindings(findings, state) {
  pane.showFindings(findings);
  list.show(findings);
  setText(found("state", HTMLElement), state);
  document.body.classList.toggle("clear", !findings.length);
}

/** The text is kept in the browser while it is not saved. */
function keepDraft() {
  if (!drafts || !saving.isLoaded) return;
  const { base, fingerprint } = saving;
  const isKept = pane.text !== base || saving.other !== null;
  drafts.keep(isKept ? { text: pane.text, base, fingerprint, time: Date.now() } : null);
}

const STATES = { loading: "Reading …", clean: "Saved", unsaved: "Not saved", changed: "Changed on disk" };

/**
 * Say whether a button has a use now. It keeps the focus without one.
 * @param {string} id
 * @param {boolean} hasUse
 */
function setUse(id, hasUse) {
  found(id, HTMLButtonElement).setAttribute("aria-disabled", String(!hasUse));
}

function showState() {
  const { state } = saving;
  const saved = found("saved", HTMLElement);
  setText(saved, saving.isBusy ? "Saving …" : STATES[state]);
  saved.className = state;
  setUse("save", state === "unsaved" || state === "changed");
  setUse("undo", pane.steps.done.length > 0);
  setUse("redo", pane.steps.undone.length > 0);
  const name = news?.file ?? "live";
  document.title = `${state === "clean" || state === "loading" ? "" : "• "}${name}, live`;
  if (state !== "changed" && notice.dataset.kind === "other") say("", "");
  if (state === "clean") {
    if (notice.dataset.kind === "refused") say("", "");
    keepDraft();
    offerDraft();
  }
}

/**
 * Say something above the text, with what can be done about it; "" for nothing.
 * @param {string} kind
 * @param {string} text
 * @param {HTMLElement[]} buttons
 */
function say(kind, text, ...buttons) {
  notice.hidden = !text;
  notice.dataset.kind = kind;
  setText(found("words", HTMLElement), text);
  found("answers", HTMLElement).replaceChildren(...buttons);
}

/** @param {string} why */
function refuse(why) {
  say("refused", `Not saved. ${why}`, button("Close", () => say("", "")));
}

/** @param {FileAnswer} answer the file as somebody else has saved it */
function showOther(answer) {
  if (answer.text === null) {
    say("other", "The file on disk is no text any longer: it is not UTF-8, or too long.");
  } else if (answer.fingerprint === "") {
    const again = button("Write it again", () => saving.together(pane.text, answer));
    say("other", "The file has been deleted. Your text is here.", again);
  } else if (typeof answer.merged === "string") {
    const text = "Another editor has saved the file. Its changes and yours are in different rows.";
    say("other", text, button("Put both together", () => void together()), compareButton());
  } else {
    const text = "Another editor has saved the file, and has changed rows that you changed too.";
    say("other", text, compareButton());
  }
}

function compareButton() {
  return button("Compare and choose", () => void compare());
}

/** Put the file and the text as they are now together, or let the rows be chosen. */
async function together() {
  const answer = await saving.look();
  if (!answer) return;
  if (typeof answer.merged === "string") saving.together(answer.merged, answer);
  else compareWith(answer);
}

async function compare() {
  const answer = await saving.look();
  if (answer) compareWith(answer);
}

/** @param {FileAnswer} answer */
function compareWith(answer) {
  merging.open(answer.blocks ?? [], (text) => saving.together(text, answer));
}

/** Texts of tabs that were closed are taken up, one after the other. */
function offerDraft() {
  if (!leftDrafts.length || !notice.hidden) return;
  const [{ name, draft }] = leftDrafts;
  if (draft.text === pane.text) {
    dropDraft(name);
    offerDraft();
    return;
  }
  const time = new Date(draft.time).toLocaleString([], { dateStyle: "medium", timeStyle: "short" });
  const take = button("Take it up", () => {
    say("", "");
    takeDraft(name, draft);
  });
  const drop = button("Throw it away", () => {
    say("", "");
    dropDraft(name);
    offerDraft();
  });
  say("draft", `A text of ${time} was not saved, and is kept in this browser.`, take, drop);
}

/** @param {string} name */
function dropDraft(name) {
  drafts?.forget(name);
  leftDrafts = leftDrafts.filter((one) => one.name !== name);
}

/**
 * @param {string} name
 * @param {import("./drafts.js").Draft} draft
 */
function takeDraft(name, draft) {
  const { fingerprint } = saving;
  leftDrafts = leftDrafts.filter((one) => one.name !== name);
  // The draft began from a version that the file may no longer be: then both are put together.
  saving.base = draft.base;
  saving.fingerprint = draft.fingerprint;
  pane.replaceAll(draft.text);
  keepDraft();
  drafts?.forget(name);
  if (draft.fingerprint === fingerprint) saving.begin(draft.base, fingerprint, pane.log.count);
  else void saving.follow(fingerprint);
  showState();
}

/** @param {string} view */
function setView(view) {
  layout.view = view === "text" || view === "page" ? view : "both";
  document.body.dataset.view = layout.view;
  for (const one of document.querySelectorAll("#views button")) {
    const isOn = one instanceof HTMLElement && one.dataset.view === layout.view;
    one.setAttribute("aria-pressed", String(isOn));
  }
  rememberLayout(layout);
  pane.drawSoon();
}

/**
 * Keys that act wherever the focus is, in the page too.
 * @param {KeyboardEvent} event
 */
function shellKey(event) {
  const isCommand = (event.ctrlKey || event.metaKey) && !event.altKey;
  if (isCommand && event.key.toLowerCase() === "s") {
    event.preventDefault();
    void saving.save();
  } else if (event.key === "F8") {
    event.preventDefault();
    const next = list.next(pane.caret, event.shiftKey ? -1 : 1);
    if (next) goTo(next);
  } else if (event.altKey && event.key === "Enter" && list.firstTry) {
    event.preventDefault();
    list.actions.apply(list.firstTry);
  } else if (event.key === "F6") {
    event.preventDefault();
    if (document.activeElement === field) found("page", HTMLIFrameElement).focus();
    else field.focus();
  }
}

/** @param {News} latest */
async function showNews(latest) {
  if (latest.version < 0) return;
  news = latest;
  setText(found("file", HTMLElement), latest.file);
  if (!saving.isLoaded) await begin(latest);
  page.show(latest.drawn);
  await saving.follow(latest.fingerprint);
  const isOfFile = saving.state === "clean" && latest.fingerprint === saving.fingerprint;
  if (isOfFile || !saving.isLoaded) {
    checking.done = pane.text;
    showFindings(latest.findings, latest.state);
  } else {
    // What the band shares may have been changed.
    checking.done = null;
    await checking.check();
  }
  showState();
}

/**
 * Take the text of the file up, and what was left of it unsaved.
 * @param {News} latest
 */
async function begin(latest) {
  /** @type {FileAnswer} */
  const file = await ask("text");
  if (file.text === null || file.refused) {
    say("refused", file.refused ?? "This file cannot be shown: it is not UTF-8 text, or too long.");
    return;
  }
  field.value = file.text;
  field.setSelectionRange(0, 0);
  field.readOnly = false;
  pane.text = file.text;
  pane.becomes({ at: 0, removed: "", inserted: "" });
  drafts = new Drafts(latest.key);
  leftDrafts = await drafts.left();
  saving.begin(file.text, file.fingerprint);
}

async function followNews() {
  let version = -1;
  for (;;) {
    if (document.hidden) {
      await new Promise((resolve) => {
        document.addEventListener("visibilitychange", resolve, { once: true });
      });
    }
    try {
      /** @type {News} */
      const latest = await ask(`news?${version}`);
      if (latest.version > version || !saving.isLoaded) await showNews(latest);
      ({ version } = latest);
    } catch {
      setText(found("state", HTMLElement), ENDED);
      await new Promise((resolve) => {
        setTimeout(resolve, RETRY_MILLISECONDS);
      });
    }
  }
}

found("save", HTMLButtonElement).addEventListener("click", () => void saving.save());
found("undo", HTMLButtonElement).addEventListener("click", () => pane.undo());
found("redo", HTMLButtonElement).addEventListener("click", () => pane.redo());
found("views", HTMLElement).addEventListener("click", ({ target }) => {
  if (target instanceof HTMLElement && target.dataset.view) setView(target.dataset.view);
});
found("all-mine", HTMLButtonElement).addEventListener("click", () => merging.all("mine"));
found("all-theirs", HTMLButtonElement).addEventListener("click", () => merging.all("theirs"));
found("cancel", HTMLButtonElement).addEventListener("click", () => merging.dialog.close());
const saves = found("saves", HTMLInputElement);
saves.checked = layout.saves;
saves.addEventListener("change", () => {
  layout.saves = saves.checked;
  rememberLayout(layout);
  if (saves.checked) saveByItself();
});
document.addEventListener("keydown", shellKey);
addEventListener("pagehide", keepDraft);
document.addEventListener("visibilitychange", keepDraft);
addEventListener("beforeunload", (event) => {
  if (saving.state !== "clean" && drafts && !drafts.works) event.preventDefault();
});
// A browser that lays its keyboard over the page says how much is left to be seen.
visualViewport?.addEventListener("resize", () => {
  if (visualViewport?.scale === 1) document.body.style.height = `${visualViewport.height}px`;
});
found("up", HTMLElement).hidden = !/\/piece\/\d+\/$/.test(location.pathname);
setView(layout.view);
new Divider(found("divider", HTMLElement), main, layout);
void followNews();
