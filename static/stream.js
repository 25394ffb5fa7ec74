// Hears the log of a live program as server-sent events (see app/live/events.py). While it hears, the page does not
// ask every three seconds; when the stream breaks, the page asks again as before and the browser reconnects by itself.
// Each entry is also given to the page as an event "recoup:news" on the document, detail = the entry.
//
// A stream may be dead without saying so: a phone slept, or changed its network. So the page hears anew when it wakes,
// and when the laptop has not said for a while that it is still here.

const ANEW_MS = 5000;
const DEAF_MS = 40000; // the laptop says every 15 s that it is still here
let source = null;
let hears = false;
let heard = 0; // the latest number the stream has told of
let latest = 0; // when it last said anything
let place = () => null;
let whenNew = () => {};
const seen = () => Number(place()?.dataset.seen ?? 0);

// where: () => the element with data-program and data-seen; fetchAnew: called when there is something new, with true
// where the page must be told everything (the log it knows is not there any more).
export function hear(where, fetchAnew) {
  place = where;
  whenNew = fetchAnew;
  listen();
  setInterval(() => {
    if (hears && performance.now() - latest > DEAF_MS) listenAnew();
  }, ANEW_MS);
}

function listen() {
  hears = false;
  source?.close();
  if (!window.EventSource) return;
  const own = new EventSource(`/live/${place().dataset.program}/stream?seen=${Math.max(seen(), heard)}`);
  source = own;
  let asked = null;
  const soon = (whole) => {
    if (asked === null) {
      queueMicrotask(() => {
        whenNew(asked);
        asked = null;
      });
    }
    asked = asked || whole;
  };
  const alive = () => {
    latest = performance.now();
  };
  own.addEventListener("open", () => {
    alive();
    hears = source === own;
    window.recoupHearing = hears;
  });
  own.addEventListener("error", () => {
    if (source !== own) return;
    hears = false;
    // Closed for good (refused, or the laptop is gone): try anew later, asking meanwhile.
    if (own.readyState === EventSource.CLOSED) setTimeout(() => source === own && listen(), ANEW_MS);
  });
  own.addEventListener("here", alive);
  own.addEventListener("news", (event) => {
    alive();
    const entry = JSON.parse(event.data);
    heard = Math.max(heard, entry.seq);
    document.dispatchEvent(new CustomEvent("recoup:news", { detail: entry }));
    if (entry.seq > seen()) soon(false);
  });
  own.addEventListener("reload", () => {
    heard = 0;
    soon(true);
  });
}

function listenAnew() {
  if (!place()) return;
  listen();
  whenNew(false);
}

document.addEventListener("htmx:config:request", (event) => {
  // Asking goes on while the board is behind what was heard: a fetch may have got lost.
  if (hears && seen() >= heard && event.detail.ctx.request.action.includes("poll=1")) event.preventDefault();
});

addEventListener("pagehide", () => {
  hears = false;
  source?.close();
});
addEventListener("pageshow", (event) => event.persisted && listenAnew());
addEventListener("online", () => listenAnew());
document.addEventListener("resume", () => listenAnew());
document.addEventListener("visibilitychange", () => {
  if (document.visibilityState === "visible") listenAnew();
});
