// Where the rig is out of reach, a page that says so in place of the browser's own. Nothing else is kept here: a figure of
// before must never pass for one of now.

const KEPT = "dewline-out-of-reach";
const PAGE = "/assets/shared/browser/offline.html";

/**
 * What a worker has that a page has not (W3C Service Workers).
 * @typedef {Event & { waitUntil: (until: Promise<unknown>) => void }} Begun
 * @typedef {Event & { request: Request, respondWith: (answer: Promise<Response>) => void }} Asked
 */
const worker =
  /** @type {{ skipWaiting: () => void, clients: { claim: () => Promise<void> }, addEventListener: Function }} */ (
    /** @type {unknown} */ (self)
  );

worker.addEventListener("install", (/** @type {Begun} */ event) => {
  event.waitUntil(caches.open(KEPT).then((kept) => kept.add(new Request(PAGE, { cache: "reload" }))));
  worker.skipWaiting();
});

worker.addEventListener("activate", (/** @type {Begun} */ event) => event.waitUntil(worker.clients.claim()));

worker.addEventListener("fetch", (/** @type {Asked} */ event) => {
  if (event.request.mode !== "navigate") return;
  const outOfReach = async () => (await caches.match(PAGE)) ?? Response.error();
  event.respondWith(fetch(event.request).catch(outOfReach));
});
