// Hears the log of a live program as server-sent events (see app/live/events.py). While it hears, the page does not
// ask every three seconds; when the stream breaks, the page asks again as before and the browser reconnects by itself.
// Each entry is also given to the page as an event "recoup:news" on the document, detail = the entry.

let source = null;
let hears = false;
let heard = 0; // the latest number the stream has told of
let place = () => null;
const seen = () => Number(place()?.dataset.seen ?? 0);

// place: () => the element with data-program and data-seen; fetchAnew: called when there is something new.
export function hear(where, fetchAnew) {
  place = where;
  hears = false;
  if (!window.EventSource) return;
  let asked = false;
  const soon = () => {
    if (asked) return;
    asked = true;
    queueMicrotask(() => {
      asked = false;
      fetchAnew();
    });
  };
  source?.close();
  source = new EventSource(`/live/${place().dataset.program}/stream?seen=${seen()}`);
  source.addEventListener("open", () => {
    hears = true;
    window.recoupHearing = true;
  });
  source.addEventListener("error", () => {
    hears = false;
    // Closed for good (refused, or the laptop is gone): try anew later, asking meanwhile.
    if (source.readyState === EventSource.CLOSED) setTimeout(() => hear(where, fetchAnew), 5000);
  });
  source.addEventListener("news", (event) => {
    const entry = JSON.parse(event.data);
    heard = Math.max(heard, entry.seq);
    document.dispatchEvent(new CustomEvent("recoup:news", { detail: entry }));
    if (entry.seq > seen()) soon();
  });
  source.addEventListener("reload", soon);
}

document.addEventListener("htmx:config:request", (event) => {
  // Asking goes on while the board is behind what was heard: a fetch may have got lost.
  if (hears && seen() >= heard && event.detail.ctx.request.action.includes("poll=1")) event.preventDefault();
});

addEventListener("pagehide", () => source?.close());
