// The part as engraved: shown, its sounding notes boxed, its system kept in view.

// Pixels for a unit of a picture at the least: a staff is 720 units high and can then be read at arm's
// length. Where that makes a system wider than the page, the page follows it sideways too.
const LEAST = 0.032;
// Pixels for a unit where there is room to choose.
const GOOD = 0.039;
// Units of a system whose picture does not say.
const USUAL = 10000;
// So many in a row at most: further along the eye loses its line.
const MOST = 4;
// Pixels between systems in a row, as the style has it.
const GAP = 18;
// Units left free around what is boxed.
const ROOM = 70;
// A system wider than its column by up to so much is drawn smaller rather than given two.
const SLACK = 0.2;
const SVG = "http://www.w3.org/2000/svg";
const still = matchMedia("(prefers-reduced-motion: reduce)");

class PartView {
  constructor() {
    this.player = "";
    this.notes = [];
    this.measures = [];
    this.systems = [];
    this.places = new Map();
    this.sounding = new Set();
    this.longest = 0;
    this.system = -1;
    this.size = 1;
    this.wanted = "";
    this.opened = new Map();
    this.note = null;
    new ResizeObserver(() => this.fit()).observe(byId("score"));
  }

  /** Show a player's part for Sa moved by so many semitones, or say that there is none. */
  async show(player, shift) {
    const here = data.parts[String(shift)] || {};
    const key = here[player] ? String(shift) : "0";
    const packed = (data.parts[key] || {})[player];
    this.wanted = `${player} ${shift}`;
    const { wanted } = this;
    let part = null;
    if (packed) {
      const name = `${key} ${player}`;
      if (!this.opened.has(name)) this.opened.set(name, await unpacked(packed));
      part = this.opened.get(name);
    }
    if (wanted !== this.wanted) return;
    this.draw(player, part);
    const first = differs("key") ? " at the beginning" : "";
    const moved = saIn(null, shift);
    if (!part) this.tell("There is no written part for this player. The cycle above shows where you are.");
    else if (key !== String(shift)) {
      const stays = `The written part stays with Sa on ${part.sa}${first}`;
      this.tell(`${stays}: only the sound has moved, to Sa on ${moved}.`);
    } else this.tell("");
  }

  tell(text) {
    this.note.hidden = !text;
    say(this.note, text);
  }

  draw(player, part) {
    const score = byId("score");
    score.setAttribute("aria-label", `The written part: ${player}`);
    this.note = make("p", { class: "note-to", role: "status", hidden: true });
    score.replaceChildren(this.note);
    this.notes = part ? part.notes : [];
    this.measures = (part && part.measures) || [];
    this.systems = [];
    this.places.clear();
    this.sounding.clear();
    this.system = -1;
    this.longest = this.notes.reduce((most, [start, end]) => Math.max(most, end - start), 0);
    if (!part) return;
    part.systems.forEach((text, index) => {
      for (const [at, letter, name, remark] of part.heads) {
        if (at === index) score.append(this.head(letter, name, remark));
      }
      score.append(this.drawn(text, index, player));
    });
    for (const [at, letter, name, remark] of part.heads) {
      if (at === part.systems.length) score.append(this.head(letter, name, remark));
    }
    const first = differs("key") ? " at the beginning" : "";
    score.append(make("p", { dir: "auto" }, part.sa ? `Sa is read on ${part.sa}${first}.` : ""));
    this.fit();
  }

  head(letter, name, remark) {
    const head = make("h2", { dir: "auto" });
    if (letter) head.append(make("span", {}, letter));
    head.append(name);
    if (remark) head.append(" ", make("small", {}, remark));
    return head;
  }

  drawn(text, index, player) {
    const box = make("div", { class: "system" });
    const picture = new DOMParser().parseFromString(text, "image/svg+xml").documentElement;
    for (const odd of picture.querySelectorAll("script, foreignObject")) odd.remove();
    picture.setAttribute("role", "img");
    picture.setAttribute("aria-label", `${player}, system ${index + 1}`);
    box.append(document.importNode(picture, true));
    for (const one of box.querySelectorAll("[id]")) {
      if (!this.places.has(one.id)) this.places.set(one.id, { element: one, system: index, boxed: false });
    }
    this.systems.push(box);
    return box;
  }

  /** Systems are short, for a phone: a wide page has several in a row, in columns. All are drawn to
      one scale: a narrow one leaves some of its column free, a wide one takes two. Where even one
      could not be read it is wider than the page. */
  fit() {
    const room = byId("score").clientWidth - 25;
    const widths = this.systems.map((box) => box.firstElementChild.viewBox.baseVal?.width || USUAL);
    // One that had to be drawn on a wider sheet does not make the others larger.
    const middle = [...widths].sort((a, b) => a - b)[widths.length >> 1] || USUAL;
    const usual = middle * this.size;
    const abreast = Math.min(MOST, Math.max(1, Math.floor(room / (GOOD * usual))));
    const width = Math.max((room - (abreast - 1) * GAP) / abreast, LEAST * usual);
    this.systems.forEach((box, at) => {
      const own = (widths[at] / middle) * width;
      const columns = Math.min(abreast, Math.max(1, Math.ceil((own + GAP) / (width + GAP) - SLACK)));
      const place = columns * width + (columns - 1) * GAP;
      // Alone in its row and still too wide: smaller, as long as it can be read.
      const drawn = Math.min(own, Math.max(place, LEAST * widths[at] * this.size));
      box.style.width = `${Math.floor(Math.max(place, drawn))}px`;
      box.firstElementChild.style.width = `${Math.min(100, (100 * drawn) / place).toFixed(2)}%`;
    });
  }

  /** The notes that sound at a time of the piece, brought into view; `anew`: wherever it was scrolled. */
  mark(position, anew) {
    if (anew) this.leave();
    const last = lastAtMost(this.notes, position + HAIR, (note) => note[0]);
    const now = new Set();
    for (let at = last; at >= 0 && this.notes[at][0] >= position - this.longest - HAIR; at -= 1) {
      const [, end, id] = this.notes[at];
      if (end > position + HAIR && this.places.has(id)) now.add(id);
    }
    for (const id of this.sounding) {
      if (!now.has(id)) this.places.get(id).element.classList.remove("sounding");
    }
    for (const id of now) if (!this.sounding.has(id)) this.box(id);
    const fresh = [...now].find((id) => !this.sounding.has(id));
    this.sounding = now;
    if (fresh) this.follow(fresh);
    else if (!now.size) this.rest(position);
    else if (anew) this.follow([...now][0]);
  }

  /** No system is the present one any longer. */
  leave() {
    if (this.system >= 0) this.systems[this.system].classList.remove("here");
    this.system = -1;
  }

  /** Where nothing sounds the measure tells which system one is in: before the first, the first. */
  rest(position) {
    const list = this.measures.length ? this.measures : this.notes;
    const at = lastAtMost(list, position + HAIR, (one) => one[0]);
    if (at >= 0 && list === this.notes) return;
    const [, , id] = list[Math.max(0, at)] || [];
    const place = this.places.get(id);
    if (place && place.system !== this.system) this.follow(id);
  }

  box(id) {
    const place = this.places.get(id);
    if (!place.boxed) {
      place.boxed = true;
      const { x, y, width, height } = place.element.getBBox();
      const frame = document.createElementNS(SVG, "rect");
      frame.setAttribute("class", "box");
      const size = { x: x - ROOM, y: y - ROOM, width: width + 2 * ROOM, height: height + 2 * ROOM };
      for (const [key, value] of Object.entries(size)) frame.setAttribute(key, value);
      place.element.prepend(frame);
    }
    place.element.classList.add("sounding");
  }

  follow(id) {
    const { system, element } = this.places.get(id);
    const score = byId("score");
    const box = this.systems[system];
    const view = score.getBoundingClientRect();
    const how = still.matches ? "auto" : "smooth";
    if (system !== this.system) {
      this.leave();
      this.system = system;
      box.classList.add("here");
      const above = Math.min(60, view.height * 0.12);
      const { top: its, bottom } = box.getBoundingClientRect();
      // The first is shown with its name above it, where both have room.
      const whole = system === 0 && bottom - view.top + score.scrollTop < view.height;
      const top = whole ? 0 : Math.max(0, its - view.top + score.scrollTop - above);
      // The next system is glided to; what is far off is there at once.
      const far = Math.abs(top - score.scrollTop) > view.height;
      score.scrollTo({ top, left: this.left(element), behavior: far ? "auto" : how });
      return;
    }
    const note = element.getBoundingClientRect();
    if (note.left < view.left + 20 || note.right > view.right - 60) {
      score.scrollTo({ left: this.left(element), behavior: how });
    }
  }

  left(element) {
    const score = byId("score");
    const away = element.getBoundingClientRect().left - score.getBoundingClientRect().left;
    return Math.max(0, away + score.scrollLeft - score.clientWidth * 0.25);
  }
}
