// Who is heard: all but those who are silent, all without me, or only me. "Me" is whose part is shown.

import { data } from "./data.js";

/** @typedef {"all" | "without" | "only"} Who */
/** @typedef {{who: Who, part: string, muted: boolean[]}} Choice */

/** @param {string} part */
export function hasVoice(part) {
  return data.voices.some(({ name }) => name === part);
}

/**
 * Whether a voice is not heard.
 * @param {Choice} choice
 * @param {number} at
 */
export function isSilent({ who, part, muted }, at) {
  if (who === "all" || !hasVoice(part)) return muted[at];
  const isMine = data.voices[at].name === part;
  if (who === "only") return !isMine;
  return isMine || muted[at];
}
