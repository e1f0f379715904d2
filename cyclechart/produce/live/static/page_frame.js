// The rehearsal page beside the text: a new one goes on where the old one was.

/** @typedef {import("../../../write/webpage/static/live_state.js").LiveHooks} LiveHooks */

export class PageFrame {
  /**
   * @param {HTMLIFrameElement} frame
   * @param {{note: (start: number, end: number) => void, ready: () => void, key: (event: KeyboardEvent) => void}} listeners
   *   `note`: a note was tapped whose cell is there in the text that the page is drawn from
   */
  constructor(frame, listeners) {
    this.frame = frame;
    this.listeners = listeners;
    this.drawn = -1;
    this.isReady = false;
  }

  /**
   * What the page in the frame offers, once it has loaded.
   * @returns {LiveHooks | undefined}
   */
  get hooks() {
    const hooks = this.frame.contentWindow && Reflect.get(this.frame.contentWindow, "__page");
    return hooks && hooks.saveState ? hooks : undefined;
  }

  /**
   * Show a new page: with the settings of the old one, its place, and playing if that played.
   * @param {number} number
   */
  show(number) {
    if (number === this.drawn || number < 0) return;
    const kept = this.hooks?.saveState();
    this.isReady = false;
    this.frame.onload = () => void this.loaded(number, kept);
    this.frame.src = `page?${number}`;
    this.drawn = number;
    void renewKept();
  }

  /**
   * @param {number} number
   * @param {import("../../../write/webpage/static/live_state.js").LiveState | undefined} kept
   */
  async loaded(number, kept) {
    const { hooks } = this;
    this.frame.contentWindow?.addEventListener("keydown", (event) => this.listeners.key(event));
    if (hooks) {
      hooks.onNote = (start, end) => this.listeners.note(start, end);
      if (kept) await hooks.restoreState(kept);
    }
    document.body.dataset.drawn = String(number);
    this.isReady = true;
    this.listeners.ready();
  }

  /**
   * Mark the notes of the cell at a place of the text that the page is drawn from.
   * @param {number} row where its row begins
   * @param {number} place
   */
  markCell(row, place) {
    if (this.isReady) this.hooks?.markCell(row, place);
  }
}

/** Where the browser keeps the page for when this server is gone, it renews what it keeps. */
async function renewKept() {
  // Browsers have service workers at secure addresses only.
  // eslint-disable-next-line @typescript-eslint/no-unnecessary-condition
  const registration = await navigator.serviceWorker?.getRegistration();
  registration?.active?.postMessage("saved");
}
