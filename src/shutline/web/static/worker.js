// Opens the pages at the car without signal: each file is fetched when it can be, else given as it was last.

const KEPT = "shutline-at-the-car-2";
const FILES = [
  "/static/paper.css",
  "/static/phone.css",
  "/static/phone.js",
  "/static/phone_queue.js",
  "/static/phone_voice.js",
  "/static/readings_round.css",
  "/static/readings_round.js",
  "/static/walk.css",
  "/static/walk.js",
  "/static/workbench.js",
  "/static/mark.svg",
  "/type/source-sans-3-latin-wght-normal.woff2",
  "/type/source-serif-4-latin-wght-normal.woff2",
  "/type/source-serif-4-latin-wght-italic.woff2",
];
const PAGE = /^\/cars\/[^/]+\/at-the-car(\/route|\/readings)?$/;
// Pages that are whole in themselves; which one it is stands after the question mark, and nothing else there counts.
const ROUTE = /\/(route|readings)$/;
const TWIN = /^\/cars\/[^/]+\/at-the-car\.json$/;
const PATIENCE_MS = 4000;

self.addEventListener("install", (event) => {
  event.waitUntil(caches.open(KEPT).then((kept) => kept.addAll(FILES)).then(() => self.skipWaiting()));
});

self.addEventListener("activate", (event) => {
  event.waitUntil((async () => {
    for (const name of await caches.keys()) {
      if (name.startsWith("shutline-at-the-car-") && name !== KEPT) await caches.delete(name);
    }
    await self.clients.claim();
  })());
});

// A page that was open before this worker was there asks for itself to be kept.
self.addEventListener("message", (event) => {
  const path = event.data?.keep;
  if (typeof path !== "string" || !PAGE.test(path.split("?")[0])) return;
  event.waitUntil((async () => {
    // All of a route, or of a round, is in its page.
    const addresses = ROUTE.test(path.split("?")[0]) ? [path] : [path, `${path}.json`];
    for (const address of addresses) await fromNetwork(address, await caches.open(KEPT));
    event.source?.postMessage({ kept: path });
  })());
});

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const address = new URL(request.url);
  if (request.method !== "GET" || address.origin !== self.location.origin) return;
  const page = request.mode === "navigate" && PAGE.test(address.pathname);
  if (page || TWIN.test(address.pathname) || FILES.includes(address.pathname)) {
    const path = address.pathname + (ROUTE.test(address.pathname) ? address.search : "");
    event.respondWith(newestOrKept(path, page).then((answer) => (page ? onwards(answer) : answer)));
  }
});

// A car that was joined with another has another address now; a browser goes there itself, or not at all.
function onwards(answer) {
  return answer.redirected ? Response.redirect(answer.url, 307) : answer;
}

async function newestOrKept(path, page) {
  const kept = await caches.open(KEPT);
  const before = await kept.match(path);
  if (!before) return fromNetwork(path, kept);
  const patience = new Promise((done) => { setTimeout(() => done(before.clone()), PATIENCE_MS); });
  const fresh = fromNetwork(path, kept).catch(() => before.clone());
  const first = await Promise.race([fresh, patience]);
  // One who has to come in again still sees what waits on this phone, and is told there.
  return page && first.status === 401 ? before.clone() : first;
}

async function fromNetwork(path, kept) {
  const answer = await fetch(path, { credentials: "same-origin", cache: "no-store", headers: { accept: "text/html, */*" } });
  if (answer.ok && !answer.redirected) await kept.put(path, answer.clone());
  return answer;
}
