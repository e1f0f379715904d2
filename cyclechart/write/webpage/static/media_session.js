// The controls on a locked screen, on headphones and on a keyboard's keys for media.

import { data, itemAt } from "./data.js";
import { actions, player } from "./main.js";
import { sectionWords } from "./cycle_words.js";
import { sectionAt } from "./turns.js";

// A media element has to play so that the controls are shown (from memory: at least five seconds).
const SILENT_SECONDS = 10;
const SILENT_RATE = 8000;
const HEADER_BYTES = 44;
const SESSION_LOOK = 500;

/** A WAV file of silence: 8 bits, one channel. */
function silentWave() {
  const frames = SILENT_SECONDS * SILENT_RATE;
  const bytes = new Uint8Array(HEADER_BYTES + frames).fill(128, HEADER_BYTES);
  const view = new DataView(bytes.buffer);
  const putText = (/** @type {number} */ at, /** @type {string} */ text) => {
    for (let index = 0; index < text.length; index += 1) bytes[at + index] = text.charCodeAt(index);
  };
  putText(0, "RIFF");
  view.setUint32(4, HEADER_BYTES - 8 + frames, true);
  putText(8, "WAVEfmt ");
  view.setUint32(16, 16, true);
  view.setUint16(20, 1, true);
  view.setUint16(22, 1, true);
  view.setUint32(24, SILENT_RATE, true);
  view.setUint32(28, SILENT_RATE, true);
  view.setUint16(32, 1, true);
  view.setUint16(34, 8, true);
  putText(36, "data");
  view.setUint32(40, frames, true);
  return new Blob([bytes], { type: "audio/wav" });
}

/** The controls outside of the page, as long as the browser has some. */
class OutsideControls {
  /** @param {MediaSession} session */
  constructor(session) {
    this.session = session;
    /** @type {HTMLAudioElement | null} it plays as long as the piece does */
    this.silence = null;
    this.section = -2;
    this.isPlaying = false;
    /** @type {[MediaSessionAction, () => void][]} */
    const handlers = [
      ["play", () => void player.play()],
      ["pause", () => player.pause()],
      ["stop", () => actions.begin()],
      ["previoustrack", () => actions.leap(-1)],
      ["nexttrack", () => actions.leap(1)],
    ];
    for (const [action, handler] of handlers) {
      try {
        session.setActionHandler(action, handler);
      } catch {
        // This browser has no such control.
      }
    }
    setInterval(() => this.show(), SESSION_LOOK);
  }

  /** Follow the piece: its section, and whether it plays. */
  show() {
    const isPlaying = player.state === "playing";
    if (isPlaying !== this.isPlaying) this.setPlaying(isPlaying);
    if (!isPlaying && this.section === -2) return;
    const section = sectionAt(data, player.now().position);
    if (section === this.section) return;
    this.section = section;
    this.session.metadata = new MediaMetadata({
      title: data.title,
      artist: data.composer,
      album: sectionWords(itemAt(data.sections, section)),
    });
  }

  /** @param {boolean} isPlaying */
  setPlaying(isPlaying) {
    this.isPlaying = isPlaying;
    this.session.playbackState = isPlaying ? "playing" : "paused";
    if (isPlaying) {
      this.silence ??= this.openSilence();
      // Where it may not play, the piece does; only the controls outside are missing.
      this.silence.play().catch(() => {});
    } else this.silence?.pause();
  }

  openSilence() {
    const silence = new Audio(URL.createObjectURL(silentWave()));
    silence.loop = true;
    return silence;
  }
}

// Older browsers have none.
// eslint-disable-next-line @typescript-eslint/no-unnecessary-condition
export const outside = navigator.mediaSession ? new OutsideControls(navigator.mediaSession) : null;
