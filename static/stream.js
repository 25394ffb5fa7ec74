// Hears the log of a live program as server-sent events (see app/live/events.py). While it hears, the page does not
// ask every three seconds; when the stream breaks, the page asks again as before and the browser reconnects by itself.
// Each entry is also given to the page as an event "recoup:news" on the document, detail = the entry.

let source = null;
let hears = false;

// place: () => the element with data-program and data-seen; fetchAnew: called when there is something new.
export function hear(place, fetchAnew) {
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
  const seen = () => Number(place()?.dataset.seen ?? 0);
  source?.close();
  source = new EventSource(`/live/${place().dataset.program}/stream?seen=${seen()}`);
  source.addEventListener("open", () => {
    hears = true;
    window.recoupHearing = true;
  });
  source.addEventListener("error", () => {
    hears = false;
    // Closed for good (refused, or the laptop is gone): try anew later, asking meanwhile.
    if (source.readyState === EventSource.CLOSED) setTimeout(() => hear(place, fetchAnew), 5000);
  });
  source.addEventListener("news", (event) => {
    const entry = JSON.parse(event.data);
    document.dispatchEvent(new CustomEvent("recoup:news", { detail: entry }));
    if (entry.seq > seen()) soon();
  });
  source.addEventListener("reload", soon);
}

document.addEventListener("htmx:config:request", (event) => {
  if (hears && event.detail.ctx.request.action.includes("poll=1")) event.preventDefault();
});

addEventListener("pagehide", () => source?.close());
