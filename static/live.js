// The live screen, on top of forms that work without this: keeps the screen awake, says when a tap was not saved
// and sends it again. A tap carries its own id, so the server logs it once however often it arrives.

const WAIT_MS = 2500;

function unsaved(text) {
  const place = document.getElementById("unsaved");
  if (!place) return;
  place.textContent = text;
  place.hidden = text === "";
}

let waiting = null;

function tryAgain(form, button) {
  unsaved("Not saved yet: no connection to the laptop. Trying again …");
  clearTimeout(waiting);
  waiting = setTimeout(() => {
    if (form.isConnected) form.requestSubmit(button ?? undefined);
  }, WAIT_MS);
}

let lastButton = null;

document.addEventListener("submit", (event) => {
  lastButton = event.submitter;
}, true);

document.addEventListener("htmx:error", (event) => {
  const form = event.target.closest?.("form");
  if (form) tryAgain(form, lastButton);
});

document.addEventListener("htmx:response:error", (event) => {
  if (event.target.closest?.("form")) unsaved("Not saved: the laptop refused it. Load this page again.");
});

// The board is replaced as a whole; this place stays, so a screen reader hears what changed.
function readOut() {
  const parts = [".latest", ".notice", ".line .say", ".line .under", ".stop h1"];
  const words = parts.map((part) => document.querySelector(`#board ${part}`)?.innerText ?? "");
  document.getElementById("heard").textContent = words.filter(Boolean).join(". ");
}

document.addEventListener("htmx:after:swap", (event) => {
  // A refusal, or no news from other screens: the board is still the old one, and so is what waits.
  if (event.detail.ctx?.response?.status !== 200) return;
  clearTimeout(waiting);
  unsaved("");
  readOut();
});

async function stayAwake() {
  if (document.visibilityState !== "visible") return;
  try {
    await navigator.wakeLock?.request("screen");
  } catch {
    // Not granted (no secure connection, low battery): the phone's own setting decides.
  }
}

document.addEventListener("visibilitychange", stayAwake);
stayAwake();
