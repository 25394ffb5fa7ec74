// Taps the laptop has not answered yet, in order: [{id, action, body: [[name, value], …]}]. They are kept in the
// browser's own storage, so that a page loaded again still has them; where there is none, in memory.

const PLACE = "recoup.waiting";
let inMemory = [];

export function waiting() {
  try {
    return JSON.parse(localStorage.getItem(PLACE) ?? "[]");
  } catch {
    return inMemory;
  }
}

function write(taps) {
  inMemory = taps;
  try {
    localStorage.setItem(PLACE, JSON.stringify(taps));
  } catch {
    // No storage (a private window, a full disk): a tap then lasts as long as the page.
  }
}

export function keep(tap) {
  const taps = waiting();
  const place = taps.findIndex((one) => one.id === tap.id);
  if (place < 0) taps.push(tap);
  else taps[place] = tap;
  write(taps);
}

export function forget(id) {
  write(waiting().filter((one) => one.id !== id));
}
