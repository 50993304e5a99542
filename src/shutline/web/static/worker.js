// Opens the pages at the car without signal: each file is fetched when it can be, else given as it was last.

const KEPT = "shutline-at-the-car-4";
const FILES = [
  "/static/early.js",
  "/static/job_card.css",
  "/static/job_card.js",
  "/static/paper.css",
  "/static/phone.css",
  "/static/phone.js",
  "/static/phone_queue.js",
  "/static/phone_voice.js",
  "/static/phone_waiting.js",
  "/static/readings_round.css",
  "/static/readings_round.js",
  "/static/rings.css",
  "/static/rings.js",
  "/static/walk.css",
  "/static/walk.js",
  "/static/workbench.js",
  "/static/mark.svg",
  "/type/source-sans-3-latin-wght-normal.woff2",
  "/type/source-serif-4-latin-wght-normal.woff2",
  "/type/source-serif-4-latin-wght-italic.woff2",
];
const PAGE = /^\/cars\/[^/]+\/(at-the-car(\/route|\/readings)?|preparation\/cards(\/[^/.]+)?)$/;
// Pages that are whole in themselves; of a route or a round, which one it is stands after the question mark.
const ROUTE = /\/at-the-car\/(route|readings)$/;
const CARDS = /\/preparation\/cards(\/[^/.]+)?$/;
const PICTURE = /^\/cars\/[^/]+\/preparation\/cards\/pictures\/[0-9a-f]{64}$/;
const TWIN = /^\/cars\/[^/]+\/at-the-car\.json$/;
const PATIENCE_MS = 4000;
// What is ticked off changes the plan, and that is worked out anew: a card of before is worse than a slow one.
const PATIENCE_CARDS_MS = 20000;

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
    // All of a route, of a round or of a card is in its page, but for its pictures.
    const whole = ROUTE.test(path.split("?")[0]) || CARDS.test(path);
    const beside = (event.data.beside ?? []).filter((one) => PICTURE.test(one));
    const addresses = [...(whole ? [path] : [path, `${path}.json`]), ...beside];
    for (const address of addresses) await fromNetwork(address, await caches.open(KEPT));
    event.source?.postMessage({ kept: path });
  })());
});

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const address = new URL(request.url);
  if (request.method !== "GET" || address.origin !== self.location.origin) return;
  const page = request.mode === "navigate" && PAGE.test(address.pathname);
  if (page || TWIN.test(address.pathname) || PICTURE.test(address.pathname) || FILES.includes(address.pathname)) {
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
  const patience = new Promise((done) => { setTimeout(() => done(before.clone()), CARDS.test(path) ? PATIENCE_CARDS_MS : PATIENCE_MS); });
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
