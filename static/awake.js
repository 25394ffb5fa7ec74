// Keeps the screen on where the browser lets a page ask for it: over https or on localhost. Over plain http it does
// not, and says so once; the phone's own setting then decides.

const TOLD = "recoup.told-awake";

async function ask() {
  if (document.visibilityState !== "visible") return;
  try {
    await navigator.wakeLock.request("screen");
  } catch {
    // Not granted (low battery): the phone's own setting decides.
  }
}

function tellOnce() {
  const place = document.getElementById("awake");
  if (!place) return;
  try {
    if (localStorage.getItem(TOLD)) return;
    localStorage.setItem(TOLD, "yes");
  } catch {
    // No storage: told again next time.
  }
  place.hidden = false;
}

export function stayAwake() {
  if (!navigator.wakeLock) {
    tellOnce();
    return;
  }
  document.addEventListener("visibilitychange", ask);
  ask();
}
