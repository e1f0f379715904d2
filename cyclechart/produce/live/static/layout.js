// How much room the text and the page have, and which of them is shown; the browser remembers it.

const NAME = "cyclechart live layout";
const LEAST = 15;
const MOST = 85;
const BY_KEY = 4;

/** @typedef {"text" | "both" | "page"} View */
/** @typedef {{share: number, view: View, saves: boolean}} Layout `share`: percent of the text */

/**
 * The layout that was last chosen; on a small phone at first the text alone, for both would be slits.
 * @returns {Layout}
 */
export function rememberedLayout() {
  const isSmall = matchMedia("(max-width: 36rem) and (max-height: 44rem)").matches;
  /** @type {Layout} */
  const layout = { share: 45, view: isSmall ? "text" : "both", saves: false };
  try {
    const { share, view, saves } = JSON.parse(localStorage.getItem(NAME) ?? "{}");
    if (typeof share === "number") layout.share = Math.min(MOST, Math.max(LEAST, share));
    if (view === "text" || view === "both" || view === "page") layout.view = view;
    layout.saves = saves === true;
  } catch {
    // Nothing was remembered.
  }
  return layout;
}

/** @param {Layout} layout */
export function rememberLayout(layout) {
  try {
    localStorage.setItem(NAME, JSON.stringify(layout));
  } catch {
    // This browser remembers nothing.
  }
}

export class Divider {
  /**
   * @param {HTMLElement} divider
   * @param {HTMLElement} main
   * @param {Layout} layout
   */
  constructor(divider, main, layout) {
    this.divider = divider;
    this.main = main;
    this.layout = layout;
    divider.addEventListener("pointerdown", (event) => {
      event.preventDefault();
      divider.setPointerCapture(event.pointerId);
    });
    divider.addEventListener("pointermove", (event) => {
      if (divider.hasPointerCapture(event.pointerId)) this.drag(event);
    });
    divider.addEventListener("pointerup", () => rememberLayout(layout));
    divider.addEventListener("keydown", (event) => this.key(event));
    this.set(layout.share);
  }

  get isAcross() {
    return getComputedStyle(this.divider).cursor === "row-resize";
  }

  /** @param {PointerEvent} event */
  drag(event) {
    const { left, top, width, height } = this.main.getBoundingClientRect();
    const part = this.isAcross ? (event.clientY - top) / height : (event.clientX - left) / width;
    this.set(Math.round(1000 * part) / 10);
  }

  /** @param {KeyboardEvent} event */
  key(event) {
    const by = { ArrowLeft: -BY_KEY, ArrowUp: -BY_KEY, ArrowRight: BY_KEY, ArrowDown: BY_KEY }[event.key];
    if (by === undefined) return;
    event.preventDefault();
    this.set(this.layout.share + by);
    rememberLayout(this.layout);
  }

  /** @param {number} share */
  set(share) {
    this.layout.share = Math.min(MOST, Math.max(LEAST, share));
    this.main.style.setProperty("--share", `${this.layout.share}fr`);
    this.main.style.setProperty("--rest", `${100 - this.layout.share}fr`);
    this.divider.setAttribute("aria-valuenow", String(Math.round(this.layout.share)));
  }
}
