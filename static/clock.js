// The clock of a live program, counted on by the page from what the laptop said (see app/web/views/timing.py). The
// laptop's clock counts: the page keeps the difference to its own.

import { moment } from "./moment.js";

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
  if (!offsets.has(place)) offsets.set(place, said.now - moment());
  const now = moment() + offsets.get(place);
  return { place, said, now, seconds: ((said.stood || now) - said.started - said.still) / 1000 };
}

// The clock as markup with what it takes to go on counting later; null where there is none.
export function clockNow() {
  const place = document.querySelector("#board .clock");
  if (!place) return null;
  const offset = offsets.get(place) ?? Number(place.dataset.now) - moment();
  return { markup: place.outerHTML, offset };
}

// A clock kept so, going on as if the page had never been closed.
export function clockAt({ markup, offset }) {
  const holder = document.createElement("template");
  holder.innerHTML = markup;
  const place = holder.content.firstElementChild;
  place.dataset.now = String(moment() + offset);
  return place;
}

// The clock as another element says it, counting on from the one on the screen; `changes`: what is new in its numbers.
function turn(fresh, changes) {
  const old = document.querySelector("#board .clock");
  const offset = clockNow().offset;
  const kept = ["started", "stood", "still", "next", "number", "ids"];
  for (const name of kept) fresh.dataset[name] = old.dataset[name];
  Object.assign(fresh.dataset, changes);
  offsets.set(fresh, offset);
  old.replaceWith(fresh);
  draw();
}

const nowOf = () => Math.round(moment() + clockNow().offset);

// The music starts now, without the laptop: `fresh` is a running clock, `id` the tap's.
export function startClock(fresh, id) {
  if (clockNow()) turn(fresh, { started: nowOf(), stood: 0, still: 0, ids: id });
}

// The skater has stopped now: `fresh` is a clock that says so.
export function breakClock(fresh, musicStopped) {
  if (!running()) return;
  const changes = musicStopped ? { stood: nowOf() } : {};
  turn(fresh, { ...changes, broken: nowOf() });
}

// Skating again.
export function resumeClock(fresh) {
  const found = running();
  if (!found) return;
  const { stood, still } = found.said;
  turn(fresh, { stood: 0, still: still + (stood ? nowOf() - stood : 0) });
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
