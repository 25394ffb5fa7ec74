// This phone has left: what its browser kept of Recoup goes as well. Taps that were never sent go with it.
// The answer to "Leave" asks the browser for the same (Clear-Site-Data), but browsers heed that over https only.

async function forget() {
  for (const kept of [localStorage, sessionStorage]) kept.clear();
  for (const worker of (await navigator.serviceWorker?.getRegistrations()) ?? []) await worker.unregister();
  if ("caches" in window) for (const name of await caches.keys()) await caches.delete(name);
  for (const { name } of (await indexedDB.databases?.()) ?? []) indexedDB.deleteDatabase(name);
}

forget().then(
  () => { document.querySelector("#left").hidden = false; },
  () => { document.querySelector("#left-unsure").hidden = false; },
);
