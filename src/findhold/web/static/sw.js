// The worker: pages of Round and Pack are kept as they were last seen, files of the program under this version.
// Pages come from the network first; only when it does not answer are the kept ones shown.

const KEPT_VERSION = "VERSION";
const FILES = ["FILES"];
const PROGRAM = `findhold-program-${KEPT_VERSION}`;
const PAGES = "findhold-pages";
const WAIT_MS = 5000;
const LONG_MS = 30_000; // a page that is not kept here has nothing to fall back on, and may reckon for a while
const KEPT_PAGES = /^\/(round|pack)(\/|$)|^\/unsent$/;
const NEVER = /\.pdf$|\/photos\//;

self.addEventListener("install", (event) => {
  event.waitUntil(
    (async () => {
      const cache = await caches.open(PROGRAM);
      await cache.addAll(FILES);
      const pages = await caches.open(PAGES);
      await Promise.allSettled(["/offline", "/unsent"].map((path) => keep(pages, path)));
      await self.skipWaiting();
    })(),
  );
});

self.addEventListener("activate", (event) => {
  event.waitUntil(
    (async () => {
      for (const name of await caches.keys()) {
        if (name.startsWith("findhold-program-") && name !== PROGRAM) await caches.delete(name);
      }
      await self.clients.claim();
    })(),
  );
});

self.addEventListener("message", (event) => {
  if (event.data?.claim) event.waitUntil(self.clients.claim());
  // Pages ask to have others kept, so that a find at hand can be packed without a connection.
  if (event.data?.keep) {
    event.waitUntil(
      (async () => {
        const pages = await caches.open(PAGES);
        let kept = 0;
        for (const path of event.data.keep) {
          if (KEPT_PAGES.test(path)) await keep(pages, path).catch(() => {});
          event.ports[0]?.postMessage({ kept: (kept += 1) });
        }
      })(),
    );
  }
});

self.addEventListener("fetch", (event) => {
  const url = new URL(event.request.url);
  if (event.request.method !== "GET" || url.origin !== self.location.origin) return;
  if (url.pathname.startsWith("/static/")) event.respondWith(programFile(event.request, url));
  else if (event.request.mode === "navigate" && !NEVER.test(url.pathname)) event.respondWith(page(event.request, url));
});

async function keep(pages, path) {
  const answer = await fetch(path, { credentials: "same-origin" });
  if (answer.ok && !answer.redirected) await pages.put(path, answer);
}

async function programFile(request, url) {
  const cache = await caches.open(PROGRAM);
  try {
    const answer = await timed(request);
    if (answer.ok) await cache.put(url.pathname, answer.clone());
    return answer;
  } catch (error) {
    return (await cache.match(url.pathname)) ?? Response.error();
  }
}

async function page(request, url) {
  const pages = await caches.open(PAGES);
  try {
    const answer = await timed(request, KEPT_PAGES.test(url.pathname) ? WAIT_MS : LONG_MS);
    // A page with an answer or a chosen box in its address is the same page, and is kept without them.
    const site = url.searchParams.get("site");
    const plain = [...url.searchParams.keys()].every((name) => name === "site");
    if (answer.ok && !answer.redirected && plain && KEPT_PAGES.test(url.pathname)) {
      await pages.put(url.pathname + (site ? `?site=${site}` : ""), answer.clone());
    }
    return answer;
  } catch (error) {
    const site = url.searchParams.get("site");
    const known = KEPT_PAGES.test(url.pathname) && (await pages.match(url.pathname + (site ? `?site=${site}` : "")));
    return known || (await pages.match("/offline")) || Response.error();
  }
}

/** The network's answer, or an error when it takes too long and something is kept. */
async function timed(request, waitMs = WAIT_MS) {
  const stop = new AbortController();
  const clock = setTimeout(() => stop.abort(), waitMs);
  try {
    return await fetch(request, { signal: stop.signal });
  } finally {
    clearTimeout(clock);
  }
}
