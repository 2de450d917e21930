// The service worker: keeps the files and the pages that were seen, and sends what waits when the network is back.
// STAMP and FILES stand above, written by the server.
importScripts(FILES.find((f) => f.includes("/queue.js")));

const SHELL = "shell-" + STAMP;
const PAGES = "pages-" + STAMP;
const MOST = 80;

self.addEventListener("install", (e) => {
  e.waitUntil((async () => {
    await (await caches.open(SHELL)).addAll([...FILES, "/manifest.webmanifest"]);
    await keep("/waiting");
    await self.skipWaiting();
  })());
});

self.addEventListener("activate", (e) => {
  e.waitUntil((async () => {
    for (const name of await caches.keys()) {
      if (name !== SHELL && name !== PAGES) await caches.delete(name);
    }
    await self.clients.claim();
  })());
});

// keep puts a page into the cache, if it is one and not a turning away.
const keep = async (url) => {
  try {
    const r = await fetch(url, { credentials: "same-origin", headers: { Accept: "text/html" } });
    if (r.ok && !r.redirected) await put(new Request(url), r);
  } catch { /* no network */ }
};

const put = async (request, response) => {
  const cache = await caches.open(PAGES);
  await cache.put(request, response);
  const keys = await cache.keys();
  for (const old of keys.slice(0, Math.max(0, keys.length - MOST))) {
    if (!old.url.endsWith("/waiting")) await cache.delete(old);
  }
};

const patient = (request, ms) => {
  const stop = new AbortController();
  const late = setTimeout(() => stop.abort(), ms);
  return fetch(request, { signal: stop.signal }).finally(() => clearTimeout(late));
};

const pageOf = async (e) => {
  const url = new URL(e.request.url);
  url.search = "";
  try {
    const r = await patient(e.request, 8000);
    if (r.ok && !r.redirected && (r.headers.get("Content-Type") || "").startsWith("text/html")) {
      e.waitUntil(put(new Request(url), r.clone()));
    }
    return r;
  } catch (fault) {
    const cache = await caches.open(PAGES);
    return await cache.match(url) || await cache.match("/waiting") || Response.error();
  }
};

const picture = async (e) => {
  try {
    const r = await fetch(e.request);
    if (r.ok) e.waitUntil(put(e.request, r.clone()));
    return r;
  } catch (fault) {
    return await (await caches.open(PAGES)).match(e.request) || Response.error();
  }
};

const file = async (request) => await (await caches.open(SHELL)).match(request) || fetch(request);

self.addEventListener("fetch", (e) => {
  const url = new URL(e.request.url);
  if (e.request.method !== "GET" || url.origin !== self.location.origin) return;
  if (url.pathname.startsWith("/static/") || url.pathname === "/manifest.webmanifest") e.respondWith(file(e.request));
  else if (e.request.mode === "navigate") e.respondWith(pageOf(e));
  else if (url.pathname.endsWith("/small.jpg") || url.pathname.endsWith("/overlay.jpg")) e.respondWith(picture(e));
});

self.addEventListener("message", (e) => {
  if (e.data.keep) e.waitUntil(Promise.all(e.data.keep.map(keep)));
  if (e.data.forget) e.waitUntil(caches.delete(PAGES).then(() => keep("/waiting")));
});

self.addEventListener("sync", (e) => {
  if (e.tag === "send") e.waitUntil(send());
});

// send sends what waits and tells the open pages. It fails where something still waits, so that the browser tries again.
const send = async () => {
  const tell = async (what) => {
    for (const c of await self.clients.matchAll()) c.postMessage({ queue: what.kind, load: what.group && what.group.load });
  };
  const how = await self.gristQueue.send(tell);
  for (const c of await self.clients.matchAll()) c.postMessage({ queue: "changed" });
  if (how === "offline") throw new Error("no network yet");
};
