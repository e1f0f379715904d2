// The service worker of a piece: what the browser keeps of it, renewed whenever the server answers.

const KEPT = ["app", "manifest", "icon"];
// Milliseconds after which what was kept is shown: a computer that is gone does not always say so.
const PATIENCE = 3000;
// Its own address is that of the piece: other pieces of the same computer have caches of their own.
const CACHE = `cyclechart ${new URL("./", self.location.href).pathname}`;

/** @param {string} name */
const addressOf = (name) => new URL(name, self.location.href).href;

/**
 * Ask the server, and keep a whole answer; a refusal or an error leaves what was kept.
 * @param {string} address
 */
async function renew(address) {
  const answer = await fetch(address, { cache: "no-store" });
  if (answer.ok) await (await caches.open(CACHE)).put(address, answer.clone());
  return answer;
}

/**
 * @param {string} address
 * @returns {Promise<Response>}
 */
async function answerTo(address) {
  const kept = await (await caches.open(CACHE)).match(address);
  if (!kept) return renew(address);
  /** @type {Promise<Response>} */
  const late = new Promise((resolve) => {
    setTimeout(() => resolve(kept), PATIENCE);
  });
  const renewed = renew(address).then((answer) => (answer.ok ? answer : kept), () => kept);
  return Promise.race([renewed, late]);
}

/** @typedef {Event & {waitUntil: (work: Promise<unknown>) => void}} WorkerEvent */

// The types of a worker's own events are not among those of a page.
const worker = /** @type {any} */ (self);
worker.addEventListener("install", (/** @type {WorkerEvent} */ event) => {
  worker.skipWaiting();
  event.waitUntil(Promise.all(KEPT.map((name) => renew(addressOf(name)))));
});
worker.addEventListener("activate", (/** @type {WorkerEvent} */ event) => {
  event.waitUntil(worker.clients.claim());
});
worker.addEventListener("message", (/** @type {WorkerEvent & {data: unknown}} */ event) => {
  // The piece was saved and drawn anew; without an answer the page stays as it was kept.
  if (event.data === "saved") event.waitUntil(renew(addressOf("app")).catch(() => {}));
});
worker.addEventListener(
  "fetch",
  (/** @type {WorkerEvent & {request: Request, respondWith: (answer: Promise<Response>) => void}} */ event) => {
    const { url, method } = event.request;
    if (method === "GET" && KEPT.some((name) => addressOf(name) === url)) event.respondWith(answerTo(url));
  },
);
