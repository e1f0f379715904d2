// The engraved part: shown, its sounding notes boxed, its system kept in view.

import { differs, saIn } from "./cycle_words.js";
import { byId, data, decodePart, itemAt, lastAtMost } from "./data.js";
import { make, setText } from "./elements.js";
import { TOLERANCE } from "./turns.js";

/** @typedef {import("./schema.js").PartData} PartData */
/** @typedef {{element: SVGGraphicsElement, system: number, boxed: boolean}} DrawnNote */
/** @typedef {{box: HTMLElement, picture: HTMLElement | SVGElement, width: number}} System width in units */

// Pixels for a unit of a picture at the least: a staff is 720 units high and can then be read at arm's
// length. Where that makes a system wider than the page, the page follows it sideways too.
const LEAST_SCALE = 0.032;
// Pixels for a unit where there is room to choose.
const GOOD_SCALE = 0.039;
// Units of a system whose picture does not say.
const USUAL_WIDTH = 10000;
// So many in a row at most: further along the eye loses its line.
const MOST_ABREAST = 4;
// Pixels between systems in a row, and on both sides of them, as the style has them.
const GAP = 18;
const SIDES = 25;
// Units left free around a boxed note.
const BOX_MARGIN = 70;
// A system wider than its column by up to so much is drawn smaller rather than given two.
const SLACK = 0.2;
// Players are some hundredths of a second around what is written; an entry of more notes is a chord.
const ENTRY_SLACK = 0.05;
const MOST_ENTRY_NOTES = 12;
const SVG = "http://www.w3.org/2000/svg";
const reducedMotion = matchMedia("(prefers-reduced-motion: reduce)");

export class PartView {
  constructor() {
    /** @type {PartData["notes"]} */
    this.notes = [];
    /** @type {PartData["notes"]} */
    this.measures = [];
    /** @type {NonNullable<PartData["cells"]>} */
    this.cells = [];
    /** @type {System[]} */
    this.systems = [];
    /** @type {Map<string, DrawnNote>} by the id of the element */
    this.places = new Map();
    /** @type {Set<string>} */
    this.sounding = new Set();
    this.longest = 0;
    this.system = -1;
    /** How often a part has been drawn. */
    this.drawn = 0;
    /** @type {number | null} the piece time of the next entry, while its player rests */
    this.entry = null;
    /** @type {Set<string>} the notes of the next entry */
    this.coming = new Set();
    /** The bar that is shown though it is still to come. */
    this.next = "";
    this.size = 1;
    this.wanted = "";
    /** Called when a part was drawn. */
    this.onDraw = () => {};
    /** @type {Map<string, PartData>} */
    this.decoded = new Map();
    this.note = make("p", { class: "note-to", role: "status", hidden: true });
    new ResizeObserver(() => this.fit()).observe(byId("score"));
  }

  /**
   * Show a player's part for Sa moved by so many semitones, or say that there is none.
   * @param {string} player
   * @param {number} shift
   */
  async show(player, shift) {
    const isMoved = player in (data.parts[String(shift)] ?? {});
    const key = isMoved ? String(shift) : "0";
    const wanted = `${player} ${shift}`;
    this.wanted = wanted;
    const part = await this.decode(key, player);
    // Another may have been asked for meanwhile.
    if (this.wanted !== wanted) return;
    this.draw(player, part);
    this.onDraw();
    if (!part) {
      this.setNote("There is no written part for this player. The cycle above shows where you are.");
    } else if (key !== String(shift)) {
      const stays = `The written part stays with Sa on ${part.sa}${atBeginning()}`;
      this.setNote(`${stays}: only the sound has moved, to Sa on ${saIn(undefined, shift)}.`);
    } else this.setNote("");
  }

  /**
   * @param {string} key
   * @param {string} player
   */
  async decode(key, player) {
    const packed = (data.parts[key] ?? {})[player];
    if (!packed) return null;
    const name = `${key} ${player}`;
    const part = this.decoded.get(name) ?? (await decodePart(packed));
    this.decoded.set(name, part);
    return part;
  }

  /** @param {string} text */
  setNote(text) {
    this.note.hidden = !text;
    setText(this.note, text);
  }

  /**
   * @param {string} player
   * @param {PartData | null} part
   */
  draw(player, part) {
    const score = byId("score");
    score.setAttribute("aria-label", `The written part: ${player}`);
    this.note = make("p", { class: "note-to", role: "status", hidden: true });
    score.replaceChildren(this.note);
    this.notes = part ? part.notes : [];
    this.measures = part?.measures ?? [];
    this.cells = part?.cells ?? [];
    this.systems = [];
    this.places.clear();
    this.sounding.clear();
    this.coming.clear();
    this.next = "";
    this.drawn += 1;
    this.system = -1;
    this.longest = this.notes.reduce((most, [start, end]) => Math.max(most, end - start), 0);
    if (!part) return;
    part.systems.forEach((text, index) => {
      this.addHeads(part, index);
      score.append(this.addSystem(text, index, player));
    });
    this.addHeads(part, part.systems.length);
    score.append(make("p", { dir: "auto" }, part.sa ? `Sa is read on ${part.sa}${atBeginning()}.` : ""));
    this.fit();
  }

  /**
   * @param {PartData} part
   * @param {number} index of the system that follows
   */
  addHeads(part, index) {
    for (const [at, letter, name, remark] of part.heads) {
      if (at !== index) continue;
      const head = make("h2", { dir: "auto" });
      if (letter) head.append(make("span", {}, letter));
      head.append(name);
      if (remark) head.append(" ", make("small", {}, remark));
      byId("score").append(head);
    }
  }

  /**
   * @param {string} text the system as SVG
   * @param {number} index
   * @param {string} player
   */
  addSystem(text, index, player) {
    const box = make("div", { class: "system" });
    const root = new DOMParser().parseFromString(text, "image/svg+xml").documentElement;
    for (const odd of root.querySelectorAll("script, foreignObject")) odd.remove();
    root.setAttribute("role", "img");
    root.setAttribute("aria-label", `${player}, system ${index + 1}`);
    const picture = document.importNode(root, true);
    box.append(picture);
    for (const element of box.querySelectorAll("[id]")) {
      if (!(element instanceof SVGGraphicsElement) || this.places.has(element.id)) continue;
      this.places.set(element.id, { element, system: index, boxed: false });
    }
    // Some browsers have no rectangle where the picture has none.
    // eslint-disable-next-line @typescript-eslint/no-unnecessary-condition
    const units = picture instanceof SVGSVGElement ? picture.viewBox.baseVal?.width : 0;
    this.systems.push({ box, picture, width: units || USUAL_WIDTH });
    return box;
  }

  /** Systems are short, for a phone: a wide page has several in a row, in columns. All are drawn to
      one scale: a narrow one leaves some of its column free, a wide one takes two. Where even one
      could not be read it is wider than the page. */
  fit() {
    const room = byId("score").clientWidth - SIDES;
    // One that had to be drawn on a wider sheet does not make the others larger.
    const sorted = this.systems.map((system) => system.width).sort((a, b) => a - b);
    const middle = itemAt(sorted, sorted.length >> 1) ?? USUAL_WIDTH;
    const usual = middle * this.size;
    const abreast = Math.min(MOST_ABREAST, Math.max(1, Math.floor(room / (GOOD_SCALE * usual))));
    const column = Math.max((room - (abreast - 1) * GAP) / abreast, LEAST_SCALE * usual);
    for (const { box, picture, width } of this.systems) {
      const own = (width / middle) * column;
      const columns = Math.min(abreast, Math.max(1, Math.ceil((own + GAP) / (column + GAP) - SLACK)));
      const place = columns * column + (columns - 1) * GAP;
      // Alone in its row and still too wide: smaller, as long as it can be read.
      const drawn = Math.min(own, Math.max(place, LEAST_SCALE * width * this.size));
      box.style.width = `${Math.floor(Math.max(place, drawn))}px`;
      picture.style.width = `${Math.min(100, (100 * drawn) / place).toFixed(2)}%`;
    }
  }

  /**
   * Box the notes that sound at a piece time, and bring them into view.
   * @param {number} position
   * @param {boolean} isForced even where its player has scrolled elsewhere
   */
  mark(position, isForced) {
    if (isForced) this.leaveSystem();
    this.markEntry();
    const last = lastAtMost(this.notes, position + TOLERANCE, ([start]) => start);
    /** @type {Set<string>} */
    const now = new Set();
    const earliest = position - this.longest - TOLERANCE;
    for (let at = last; at >= 0 && this.notes[at][0] >= earliest; at -= 1) {
      const [, end, id] = this.notes[at];
      if (end > position + TOLERANCE && this.places.has(id)) now.add(id);
    }
    for (const id of this.sounding) {
      if (!now.has(id)) this.places.get(id)?.element.classList.remove("sounding");
    }
    for (const id of now) if (!this.sounding.has(id)) this.box(id);
    const fresh = [...now].find((id) => !this.sounding.has(id));
    this.sounding = now;
    const [first] = now;
    if (fresh) this.follow(fresh);
    else if (!now.size) this.followRest(position);
    else if (isForced) this.follow(first);
  }

  /** Mark the first notes of the next entry while their player rests. */
  markEntry() {
    const { entry } = this;
    const first = entry === null ? this.notes.length : lastAtMost(this.notes, entry - ENTRY_SLACK, ([start]) => start) + 1;
    /** @type {Set<string>} */
    const coming = new Set();
    for (const [start, , id] of this.notes.slice(first, first + MOST_ENTRY_NOTES)) {
      if (entry !== null && start < entry + ENTRY_SLACK && this.places.has(id)) coming.add(id);
    }
    for (const id of this.coming) {
      if (!coming.has(id)) this.places.get(id)?.element.classList.remove("coming");
    }
    for (const id of coming) if (!this.coming.has(id)) this.frame(id)?.classList.add("coming");
    this.coming = coming;
  }

  /** No system is the present one any longer. */
  leaveSystem() {
    this.next = "";
    itemAt(this.systems, this.system)?.box.classList.remove("here");
    this.system = -1;
  }

  /**
   * Where nothing sounds the measure says which system is the present one. Where none is written for a
   * rest none is: what comes next is in view.
   * @param {number} position
   */
  followRest(position) {
    const list = this.measures.length ? this.measures : this.notes;
    const at = lastAtMost(list, position + TOLERANCE, ([start]) => start);
    const isWritten = list === this.measures && at >= 0 && list[at][1] > position - TOLERANCE;
    if (isWritten) {
      const place = this.places.get(list[at][2]);
      if (place && place.system !== this.system) this.follow(list[at][2]);
      return;
    }
    if (at >= 0 && list === this.notes && this.entry === null) return;
    const [entry] = this.coming;
    const next = entry || itemAt(list, at + 1)?.[2];
    if (!next || next === this.next) return;
    this.leaveSystem();
    this.next = next;
    this.reveal(next);
  }

  /**
   * Bring a bar into view that is not the present one.
   * @param {string} id
   */
  reveal(id) {
    const place = this.places.get(id);
    if (place) this.scrollToSystem(place);
  }

  /** @param {string} id */
  box(id) {
    this.frame(id)?.classList.add("sounding");
  }

  /**
   * Return a note with a frame around it, which is seen once the note has a class that shows it.
   * @param {string} id
   */
  frame(id) {
    const place = this.places.get(id);
    if (!place) return null;
    if (!place.boxed) {
      place.boxed = true;
      const { x, y, width, height } = place.element.getBBox();
      const frame = document.createElementNS(SVG, "rect");
      frame.setAttribute("class", "box");
      frame.setAttribute("x", String(x - BOX_MARGIN));
      frame.setAttribute("y", String(y - BOX_MARGIN));
      frame.setAttribute("width", String(width + 2 * BOX_MARGIN));
      frame.setAttribute("height", String(height + 2 * BOX_MARGIN));
      place.element.prepend(frame);
    }
    return place.element;
  }

  /** @param {string} id */
  follow(id) {
    const place = this.places.get(id);
    if (!place) return;
    const { system, element } = place;
    if (system !== this.system) {
      this.leaveSystem();
      this.system = system;
      this.systems[system].box.classList.add("here");
      this.scrollToSystem(place);
      return;
    }
    const score = byId("score");
    const view = score.getBoundingClientRect();
    const behavior = reducedMotion.matches ? "auto" : "smooth";
    const note = element.getBoundingClientRect();
    if (note.left < view.left + 20 || note.right > view.right - 60) {
      score.scrollTo({ left: leftOf(element), behavior });
    }
  }

  /** @param {DrawnNote} place */
  scrollToSystem({ system, element }) {
    const score = byId("score");
    const view = score.getBoundingClientRect();
    const behavior = reducedMotion.matches ? "auto" : "smooth";
    const above = Math.min(60, view.height * 0.12);
    const edges = this.systems[system].box.getBoundingClientRect();
    // The first is shown with its name above it, where both have room.
    const isWhole = system === 0 && edges.bottom - view.top + score.scrollTop < view.height;
    const top = isWhole ? 0 : Math.max(0, edges.top - view.top + score.scrollTop - above);
    // The page glides to the next system and jumps to one that is far off.
    const isFar = Math.abs(top - score.scrollTop) > view.height;
    score.scrollTo({ top, left: leftOf(element), behavior: isFar ? "auto" : behavior });
  }
}

/** Words for a letter of Sa that holds at the beginning only. */
function atBeginning() {
  return differs("key") ? " at the beginning" : "";
}

/**
 * The sideways scroll that shows an element.
 * @param {Element} element
 */
function leftOf(element) {
  const score = byId("score");
  const away = element.getBoundingClientRect().left - score.getBoundingClientRect().left;
  return Math.max(0, away + score.scrollLeft - score.clientWidth * 0.25);
}
