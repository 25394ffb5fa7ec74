// The clock of a live program, counted on by the page from what the laptop said (see app/web/views/timing.py). The
// laptop's clock counts: the page keeps the difference to its own.

const STEP_MS = 250;
const offsets = new WeakMap();

function clockText(seconds) {
  const whole = Math.max(0, Math.floor(seconds));
  return `${Math.floor(whole / 60)}:${String(whole % 60).padStart(2, "0")}`;
}

// A sentence of the markup, in the reader's language, with its places filled: say(place, "Next", { number: 3 }).
function say(place, name, values = {}) {
  return place.dataset[`say${name}`].replace(/\{(\w+)\}/g, (_, key) => values[key]);
}

function nextText(place, seconds, next, number) {
  if (next < 0) return "";
  const left = Math.round(next - seconds);
  return say(place, left >= 0 ? "Next" : "Due", { number, seconds: Math.abs(left) });
}

function halfText(place, seconds, half, full, most) {
  if (full <= 0) return "";
  if (seconds > most) return `\u25B2 ${say(place, "Over", { seconds: Math.ceil(seconds - most) })}`;
  if (seconds > full) return `\u25B2 ${say(place, "Up", { seconds: Math.floor(most - seconds) })}`;
  if (seconds >= half) return `\u25D1 ${say(place, "Second")}`;
  return `\u25D0 ${say(place, "First", { time: clockText(Math.ceil(half - seconds)) })}`;
}

function put(place, name, text) {
  const spot = place.querySelector(name);
  if (spot && spot.textContent !== text) spot.textContent = text;
}

// What the clock says now: { place, said, now, seconds }, null while the music has not started.
export function running() {
  const place = document.querySelector(".clock");
  if (!place) return null;
  const said = Object.fromEntries(Object.entries(place.dataset).map(([name, value]) => [name, Number(value)]));
  if (!said.started) return null;
  if (!offsets.has(place)) offsets.set(place, said.now - Date.now());
  const now = Date.now() + offsets.get(place);
  return { place, said, now, seconds: ((said.stood || now) - said.started - said.still) / 1000 };
}

// The clock as markup with what it takes to go on counting later; null where there is none.
export function clockNow() {
  const place = document.querySelector("#board .clock");
  if (!place) return null;
  const offset = offsets.get(place) ?? Number(place.dataset.now) - Date.now();
  return { markup: place.outerHTML, offset };
}

// A clock kept so, going on as if the page had never been closed.
export function clockAt({ markup, offset }) {
  const holder = document.createElement("template");
  holder.innerHTML = markup;
  const place = holder.content.firstElementChild;
  place.dataset.now = String(Date.now() + offset);
  return place;
}

// The music starts now, without the laptop: `markup` is a running clock.
export function startClock(markup) {
  const old = document.querySelector("#board .clock");
  if (!old || Number(old.dataset.started)) return;
  const place = clockAt({ markup, offset: 0 });
  place.dataset.started = place.dataset.now;
  old.replaceWith(place);
  draw();
}

function draw() {
  const found = running();
  if (!found) return;
  const { place, said, now, seconds } = found;
  put(place, ".clock-now", clockText(seconds));
  put(place, ".clock-next", nextText(place, seconds, said.next, said.number));
  put(place, ".clock-half", halfText(place, seconds, said.half, said.full, said.most));
  if (!said.broken) return;
  const broken = (now - said.broken) / 1000;
  put(place, ".clock-broken", say(place, "Broken", { time: clockText(broken) }));
  for (const step of place.querySelectorAll("[data-over]")) {
    step.classList.toggle("reached", broken > Number(step.dataset.over));
  }
}

export function runClock() {
  draw();
  setInterval(draw, STEP_MS);
  document.addEventListener("htmx:after:swap", draw);
}
