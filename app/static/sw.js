// Serves the page without a network. `app/launch` writes two lines above this one:
//   const VERSION: a hash over all files;  const FILES: path -> "sha256-…" of each file.
// All files are fetched at install, checked against their hash, and kept together: a page never
// mixes two versions. A new version waits until the page says "skip-waiting" (see offline.js).

const PREFIX = `evenrise ${self.registration.scope} `;
const CACHE = PREFIX + VERSION;

async function precache() {
  const cache = await caches.open(CACHE);
  const wanted = Object.entries(FILES).map(
    ([path, integrity]) =>
      new Request(new URL(path, self.registration.scope), { cache: "no-cache", integrity }),
  );
  try {
    await cache.addAll(wanted);
  } catch (error) {
    await caches.delete(CACHE);
    throw error;
  }
}

async function dropOldVersions() {
  const names = await caches.keys();
  const old = names.filter((name) => name.startsWith(PREFIX) && name !== CACHE);
  await Promise.all(old.map((name) => caches.delete(name)));
}

async function answer(request, path) {
  const cache = await caches.open(CACHE);
  const kept = await cache.match(new URL(path, self.registration.scope));
  return kept ?? fetch(request);
}

self.addEventListener("install", (event) => event.waitUntil(precache()));
self.addEventListener("activate", (event) => event.waitUntil(dropOldVersions()));
self.addEventListener("message", (event) => {
  if (event.data === "skip-waiting") self.skipWaiting();
});
self.addEventListener("fetch", (event) => {
  const { request } = event;
  const scope = self.registration.scope;
  if (request.method !== "GET" || !request.url.startsWith(scope)) return;
  const url = new URL(request.url);
  let path = (url.origin + url.pathname).slice(scope.length);
  if (path === "index.html") path = "";
  if (Object.hasOwn(FILES, path)) event.respondWith(answer(request, path));
});
