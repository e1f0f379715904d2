// The elements that live_page.html has.

/**
 * @template {HTMLElement} Kind
 * @param {string} id
 * @param {new () => Kind} kind
 * @returns {Kind}
 */
export function found(id, kind) {
  const element = document.getElementById(id);
  if (!(element instanceof kind)) throw new Error(`The page has no element "${id}".`);
  return element;
}
