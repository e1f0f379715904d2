// What is asked of the command. Addresses are those of the page: they keep its token.

/**
 * A thing to try: its words, and the edits that do it, from the last to the first.
 * @typedef {object} Try
 * @property {string} text
 * @property {[start: number, end: number, text: string][]} edits
 */

/**
 * `span` is its place in the text, null for one in another file.
 * @typedef {object} Finding
 * @property {"error" | "warning" | "advice" | "liberty"} severity
 * @property {string} rule
 * @property {string} file
 * @property {number} line
 * @property {number} column
 * @property {[start: number, end: number] | null} span
 * @property {string} message
 * @property {string} taken
 * @property {Try[]} tries
 */

/**
 * The state of the command: `drawn` is the number of the newest page, -1 for none yet; `drawn_from`
 * the fingerprint of its text; `fingerprint` that of the file as it is now, "" for none.
 * @typedef {object} News
 * @property {string} file
 * @property {string} key
 * @property {string} state
 * @property {number} version
 * @property {number} drawn
 * @property {string} drawn_from
 * @property {string} fingerprint
 * @property {Finding[]} findings
 */

/**
 * Rows of a merge: those of both versions and of the one before them.
 * @typedef {object} MergeBlock
 * @property {"same" | "mine" | "theirs" | "both"} kind
 * @property {string[]} base
 * @property {string[]} mine
 * @property {string[]} theirs
 */

/**
 * The file as it is: no text where it is none. `blocks` and `merged`, where a text was sent: what both
 * can be put together from, and the whole where nobody has to choose.
 * @typedef {object} FileAnswer
 * @property {boolean} [saved]
 * @property {string | null} text
 * @property {string} fingerprint
 * @property {MergeBlock[]} [blocks]
 * @property {string | null} [merged]
 * @property {string} [refused] the sentence why nothing was done
 */

/**
 * @param {string} path
 * @returns {Promise<any>}
 */
export async function ask(path) {
  return answerOf(await fetch(path));
}

/**
 * @param {string} path
 * @param {object} data
 * @returns {Promise<any>}
 */
export async function send(path, data) {
  const headers = { "Content-Type": "application/json" };
  return answerOf(await fetch(path, { method: "POST", headers, body: JSON.stringify(data) }));
}

/** @param {Response} response */
async function answerOf(response) {
  if (response.ok) return response.json();
  throw new Error(await response.text());
}
