// Starts Recoup without the laptop. The laptop writes VERSION and FILES above this: what a start takes, and a name made
// from all of it, so a new version replaces the old one whole. Only files of the app and one empty page (start.js) are
// kept here; no page with anybody's data is. Whatever the laptop answers goes first.

const SHELF = `recoup-files-${VERSION}`;
const START = "/alone";
const PATIENCE_MS = 4000;
const QUIET_MS = 10000; // after an answer that did not come, files are not asked for anew for so long
const LIVE = /^\/live(\/\d+)?(\/big)?$/;
let silentSince = 0;

self.addEventListener("install", (event) => event.waitUntil(fill()));
self.addEventListener("activate", (event) => event.waitUntil(takeOver()));

async function fill() {
  const shelf = await caches.open(SHELF);
  await shelf.addAll([...FILES, START].map((path) => new Request(path, { cache: "reload" })));
  await self.skipWaiting();
}

async function takeOver() {
  for (const name of await caches.keys()) {
    if (name.startsWith("recoup-files-") && name !== SHELF) await caches.delete(name);
  }
  await self.clients.claim();
}

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const { origin, pathname } = new URL(request.url);
  if (request.method !== "GET" || origin !== location.origin) return;
  if (request.mode === "navigate") event.respondWith(page(request, pathname));
  else if (FILES.includes(pathname)) event.respondWith(file(request, pathname));
});

// At the boards nobody waits for a laptop that is out of reach; a page that takes long to work out may take long.
async function page(request, pathname) {
  try {
    return await answer(request, LIVE.test(pathname));
  } catch {
    return (await kept(START)) ?? Response.error();
  }
}

async function file(request, pathname) {
  const found = await kept(pathname);
  if (found && Date.now() - silentSince < QUIET_MS) return found;
  try {
    return await answer(request, found !== undefined);
  } catch {
    return found ?? Response.error();
  }
}

async function answer(request, inTime) {
  try {
    return await (inTime ? Promise.race([fetch(request), tooLate()]) : fetch(request));
  } catch (error) {
    silentSince = Date.now();
    throw error;
  }
}

const tooLate = () => new Promise((_, refuse) => setTimeout(() => refuse(new Error("no answer")), PATIENCE_MS));
const kept = async (path) => await (await caches.open(SHELF)).match(path);
