"use strict";
(() => {
  /**
   * @typedef {object} Finding
   * @property {string} severity
   * @property {string} where
   * @property {string} message
   * @property {string[]} tries
   */
  /**
   * The state of the command: `drawn` is the number of the newest page, -1 for none yet.
   * @typedef {object} News
   * @property {string} file
   * @property {string} state
   * @property {number} version
   * @property {number} drawn
   * @property {Finding[]} findings
   */
  /** @typedef {import("../../write/webpage/static/live_state.js").LiveHooks} LiveHooks */

  const RETRY_MILLISECONDS = 2000;
  const [file, state, findings, frame] = ["file", "state", "findings", "page"].map(byId);
  let version = -1;
  let drawn = -1;

  /**
   * Return an element that live_page.html has.
   * @param {string} id
   * @returns {HTMLElement}
   */
  function byId(id) {
    const element = document.getElementById(id);
    if (!element) throw new Error(`The page has no element "${id}".`);
    return element;
  }

  /**
   * @param {"p" | "pre"} name
   * @param {string} text
   */
  function line(name, text) {
    const element = document.createElement(name);
    element.textContent = text;
    return element;
  }

  /** @param {News} news */
  function showNews(news) {
    file.textContent = news.file;
    document.title = `${news.file}, live`;
    state.textContent = news.state;
    findings.replaceChildren(...news.findings.map(findingItem));
  }

  /** @param {Finding} finding */
  function findingItem({ severity, where, message, tries }) {
    const item = document.createElement("li");
    item.className = severity;
    const kind = line("p", `${severity}: ${where}`);
    kind.className = "kind";
    item.append(kind, line("p", message), ...tries.map((text) => line("pre", `try: ${text}`)));
    return item;
  }

  /**
   * What the page in the frame offers, once it has loaded.
   * @param {HTMLIFrameElement} page
   * @returns {LiveHooks | undefined}
   */
  function hooksOf(page) {
    const hooks = page.contentWindow && Reflect.get(page.contentWindow, "__page");
    return hooks && hooks.saveState ? hooks : undefined;
  }

  /**
   * Show a new page: it goes on where the old one was, with its settings, its place, and playing if
   * that played.
   * @param {number} number
   */
  function showPage(number) {
    if (!(frame instanceof HTMLIFrameElement)) return;
    const kept = hooksOf(frame)?.saveState();
    frame.onload = () => {
      if (kept) void hooksOf(frame)?.restoreState(kept);
      document.body.dataset.drawn = String(number);
    };
    frame.src = `page?${number}`;
    drawn = number;
  }

  async function followNews() {
    for (;;) {
      try {
        const answer = await fetch(`news?${version}`);
        /** @type {News} */
        const news = await answer.json();
        version = news.version;
        showNews(news);
        if (news.drawn !== drawn && news.drawn >= 0) showPage(news.drawn);
      } catch {
        state.textContent = "The command has ended. What is here can still be played.";
        await new Promise((resolve) => {
          setTimeout(resolve, RETRY_MILLISECONDS);
        });
      }
    }
  }

  void followNews();
})();
