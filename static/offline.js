// No connection: the page goes on logging and advising from the policy it holds. Taps wait in the browser's storage
// (waiting.js) and are sent once the link is back, in order; each carries its own id, so the laptop logs it once.
// Afterwards the laptop's own board replaces this page's. Where the program stands is kept with every tap (kept.js), so
// a page that starts without the laptop (start.js) goes on from there.

import { breakClock, clockAt, clockNow, resumeClock, running, startClock } from "./clock.js";
import { forgetAll, forgetProgram, keepPlace, placeOf, policyOf, tidy } from "./kept.js";
import { moment } from "./moment.js";
import { behind, bigAt, boardAt, filled, outside } from "./policy.js";
import { steady } from "./steady.js";
import { forget, isStop, isTap, keep, newId, noticeIn, waiting } from "./waiting.js";

const AGAIN_MS = 2500;
const MAKING_MS = 700;
const SOON_MS = 2000;
const PATIENCE_MS = 8000;
const NOT_PAIRED = 401;
const BROKEN = 500;
const TRIES = 3; // a tap over which the laptop stumbles so often is refused
const NOT_OURS = [403, 404];
const pause = (ms) => new Promise((done) => setTimeout(done, ms));
const board = () => document.getElementById("board");
const OTHERS = ["passes", "aim", "start"]; // pages that do not log
const program = () => (OTHERS.includes(board()?.dataset.view) ? undefined : board()?.dataset.program);
const home = () => `/live/${program()}`;

let policy = null;
let at = null;
let trail = []; // places by number of passes done, for undo
let applied = []; // ids of taps that wait and that `at` has in it already
let cut = false;
let returning = false; // the laptop's board is being fetched to take over again
let draining = false;
let asking = 0;
let isBig = board()?.dataset.view === "big"; // the word alone is on the screen

export const isCut = () => cut;
export const canTake = () => policy !== null && at !== null;
// While the link is cut a board that was asked for before it was must not bring the past back; nor may one that comes
// while a tap made meanwhile waits.
export const mayReplace = (address) =>
  !cut || (returning && address === location.pathname && waiting().length === 0);

// Ask where the program stands, and fetch the policy if it is another one. Asks again while it is being made.
export async function follow() {
  const mine = ++asking;
  let again = MAKING_MS;
  while (mine === asking && !cut && program()) {
    try {
      const answer = await fetch(`/live/${program()}/policy/here`);
      if (mine !== asking || cut) return;
      if (!answer.ok) return notOurs(answer.status);
      const here = await answer.json();
      if (mine !== asking || cut) return;
      if (here.mode === "stopped") {
        markStopped();
        return forgetPolicy();
      }
      if (here.mode === "finished") return drop();
      if (here.version) return await stand(here, mine);
      again = here.again ?? MAKING_MS;
    } catch {
      return recall();
    }
    await pause(again);
  }
}

async function stand(here, mine) {
  if (policy?.version !== here.version) {
    const fetched = await policyOf(program(), here.version);
    // Another one was asked for meanwhile: what this one may show is perhaps hidden by now.
    if (mine !== asking || cut) return await tidy(program(), policy?.version ?? "");
    policy = fetched;
    trail = [];
  }
  at = { ...shown(), node: here.node, place: here.place, cents: here.cents, lost: here.lost, undo: here.undo };
  applied = [];
  remember();
  await tidy(program(), policy.version);
}

// What the laptop's board itself says of the latest pass.
function shown() {
  const latest = document.querySelector("#board .latest")?.firstChild?.textContent ?? "";
  const of = document.querySelector("#board .undo")?.form?.elements;
  return {
    latest: latest.replace(/\. $/, ""),
    fell: document.querySelector("#board .foot.fell") !== null,
    undo: { number: Number(of?.number.value ?? 0), of: of?.of.value ?? "" },
  };
}

function forgetPolicy() {
  policy = at = null;
  trail = applied = [];
}

// All passes are logged, or the program is not there any more.
function drop() {
  const gone = program();
  forgetPolicy();
  return forgetProgram(gone);
}

async function notOurs(status) {
  if (status === NOT_PAIRED) {
    forgetPolicy();
    await forgetAll();
  } else if (NOT_OURS.includes(status)) {
    await drop();
  }
}

// Somebody is hurt: a page that starts without the laptop must say so too.
export function markStopped() {
  const kept = program() && placeOf(program());
  if (kept) keepPlace(program(), { ...kept, stopped: true });
}

function remember() {
  trail[at.place] = at;
  const name = document.querySelector("#board .live-where")?.textContent ?? placeOf(program())?.name ?? "";
  const stopped = board().dataset.mode === "stopped";
  keepPlace(program(), { version: policy.version, at, trail, applied, name, clock: clockNow(), stopped });
}

// The link went while this page was asking: the place it had, and the policy the browser keeps.
async function recall() {
  if (policy) return;
  try {
    await goOnFrom(placeOf(program()));
  } catch {
    forgetPolicy();
  }
}

async function goOnFrom(kept) {
  if (!kept || kept.stopped) return false;
  policy = await policyOf(program(), kept.version);
  ({ at, trail, applied } = kept);
  goOn();
  // Taps that were still on their way when the page was closed.
  const late = waiting().filter((one) => isOurs(one) && !applied.includes(one.id));
  for (const tap of late) apply(tap);
  if (late.length === 0) draw();
  return true;
}

// A page that starts without the laptop. False: this device does not hold what it takes.
export async function startAlone() {
  const kept = placeOf(program());
  if (kept?.clock) board().append(clockAt(kept.clock));
  board().dataset.local = "yes";
  return await goOnFrom(kept);
}

const isOurs = (tap) => tap.action.startsWith(`/live/${program()}/`);

// The laptop has answered a tap with its board: the place goes along at once, for the link may go before the laptop is
// asked where the program stands.
export function moveOn({ id, action, body }) {
  if (cut || !canTake() || !action.endsWith("/pass")) return;
  if (Number(board().dataset.place) !== at.place + 1) return;
  step(id, body.find(([key]) => key === "tap")?.[1] ?? "");
  if (document.querySelector("#board .question")) at.node = null;
  remember();
}

// A kept tap could not be sent. True: this page goes on by itself from here.
export function takes(id) {
  const tap = waiting().find((one) => one.id === id);
  if (!tap || !canTake() || !isOurs(tap)) return false;
  goOn();
  if (!applied.includes(id)) apply(tap);
  return true;
}

// A tap was answered although the page goes on by itself by now: this page's board has it too.
export function takesAnswered(tap) {
  if (!cut || !canTake() || !isOurs(tap)) return false;
  if (!applied.includes(tap.id)) apply(tap);
  return true;
}

function goOn() {
  if (cut) return;
  cut = true;
  asking += 1;
  reckonAnew();
  drain();
}

// The link may go between the laptop's board and the answer to where the program stands. Then this page knows from the
// board how many passes are done, and no more.
function reckonAnew() {
  const { local, place } = board().dataset;
  if (local || waiting().some((one) => applied.includes(one.id)) || Number(place) === at.place) return;
  at = { ...outside(Number(place), "unknown"), ...shown() };
  remember();
}

function step(id, tap) {
  at = behind(policy, at, tap, id);
  if (at.node !== null && !asPlanned(at.place - 1)) at = { ...at, node: null, off: "clock" };
}

function apply({ id, action, body }) {
  const what = action.split("/").pop();
  let said = "";
  if (what === "pass") {
    step(id, body.find(([key]) => key === "tap")?.[1] ?? "");
  } else if (what === "undo" && at.place > 0) {
    at = trail[at.place - 1] ?? outside(at.place - 1, "unknown");
  } else if (what === "hide") {
    at = { ...at, node: null, off: "hidden" };
  } else if (["music", "interrupt", "resume"].includes(what)) {
    turnClock(what, id, body);
  } else if (what !== "hurt") {
    said = policy.kept;
  }
  applied.push(id);
  remember();
  draw(said);
}

function turnClock(what, id, body) {
  const stopsMusic = body.some(([name, value]) => name === "music_stopped" && value === "yes");
  const clock = what === "interrupt" ? policy.broken[stopsMusic ? 1 : 0] : policy.clock;
  const fresh = filled(clock, { event: newId(), of: id });
  if (what === "music") startClock(fresh, id);
  else if (what === "interrupt") breakClock(fresh, stopsMusic);
  else resumeClock(fresh);
}

// A pass that the clock puts into the other half than the plan does is not what the policy reckoned with.
function asPlanned(place) {
  const clock = running();
  // After a stop of the music nothing counts as late.
  if (clock && (clock.said.still || clock.said.stood)) return !policy.late[place];
  return (
    !clock || !clock.said.half || clock.seconds - policy.tapAfter >= clock.said.half === Boolean(policy.late[place])
  );
}

// The clock runs on: it moves to the new board, and speaks of the pass to come.
function keepClock(fresh) {
  const old = board().querySelector(".clock");
  const place = fresh.querySelector(".clock");
  if (!old) return;
  old.dataset.next = String(policy.seconds[at.place] ?? -1);
  old.dataset.number = String(at.place + 1);
  old.hidden = !place; // beside the word alone it counts on unseen
  if (place) place.replaceWith(old);
  else fresh.append(old);
}

// The buttons for the music and for a skater who has stopped, as soon as a clock runs.
function placeBreaks(fresh) {
  fresh.querySelector(".breaks")?.remove();
  const clock = running();
  const breaks = clock && filled(policy.breaks, { event: newId(), clock_ids: clock.place.dataset.ids });
  if (!breaks) return;
  if (clock.said.broken) breaks.querySelector(".row")?.remove();
  fresh.querySelector(".no-drawing")?.after(breaks);
}

function draw(said = "") {
  if (board().dataset.mode === "stopped") return sign();
  const fresh = (isBig ? bigAt : boardAt)(policy, at, newId);
  document.body.classList.toggle("big", isBig);
  // The polling of the old board must not bring it back.
  for (const one of fresh.querySelectorAll("[hx-trigger]")) one.remove();
  placeBreaks(fresh);
  keepClock(fresh);
  fresh.dataset.local = "yes";
  if (said) {
    const note = document.createElement("p");
    note.className = "notice notice-accent";
    note.textContent = said;
    fresh.querySelector(".col-pad")?.prepend(note);
  }
  board().replaceWith(fresh);
  steady();
  sign();
  scrollTo(0, 0);
  document.dispatchEvent(new CustomEvent("recoup:drawn"));
}

// The strip that says so, in words and with a shape.
function sign() {
  document.querySelector(".offline")?.remove();
  if (!cut || !policy) return;
  const holder = document.createElement("template");
  const count = waiting().length;
  const words = policy.waits[count === 1 ? 0 : 1].replace("⟦count⟧", String(count));
  holder.innerHTML = policy.sign;
  const strip = holder.content.firstElementChild;
  for (const span of strip.querySelectorAll("span")) {
    span.textContent = span.textContent.replace("⟦waiting⟧", words);
  }
  board().before(strip);
}

// While the link is cut, taps on the board are kept and answered here.
document.addEventListener(
  "submit",
  (event) => {
    if (!cut || !event.target.closest?.("#board")) return;
    event.preventDefault();
    event.stopImmediatePropagation();
    const form = event.target;
    const body = [...new FormData(form, event.submitter)].map(([name, value]) => [name, String(value)]);
    const id = body.find(([name]) => name === "event_id")?.[1];
    if (!id || waiting().some((one) => one.id === id)) return;
    const tap = { id, action: new URL(form.action).pathname, body: [...body, ["made_at", String(moment())]] };
    keep(tap);
    if (tap.action.endsWith("/hurt")) {
      document.dispatchEvent(new CustomEvent("recoup:stop"));
      sign();
    } else if (canTake()) {
      apply(tap);
    }
  },
  true,
);

// Between the board and the word alone nobody leaves the page: over plain http none opens without the laptop. Nor does
// any other page then, so this one stays.
document.addEventListener("click", (event) => {
  const link = event.target.closest?.("#board a[href]");
  if (!link || !canTake() || event.ctrlKey || event.metaKey || event.shiftKey) return;
  const isView = [home(), `${home()}/big`].includes(link.pathname);
  if (!isView && (!cut || navigator.serviceWorker?.controller)) return;
  event.preventDefault();
  if (!isView) return draw(policy.stays);
  history.pushState(null, "", link.pathname);
  turnTo(link.pathname);
});

addEventListener("popstate", () => {
  if (canTake() && [home(), `${home()}/big`].includes(location.pathname)) turnTo(location.pathname);
  else location.reload();
});

async function turnTo(path) {
  isBig = path !== home();
  if (!cut) {
    const swapped = window.htmx.ajax("GET", path, { target: "#board", swap: "outerHTML" }).catch(() => {});
    await Promise.race([swapped, pause(SOON_MS)]);
    document.body.classList.toggle("big", isBig);
    if ((board().dataset.view === "big") === isBig || !canTake()) return;
    goOn();
  }
  draw();
}

async function send({ action, body }) {
  const sent = new URLSearchParams(body);
  sent.set("sent_at", String(moment()));
  const headers = { "HX-Request": "true" };
  return await fetch(action, { method: "POST", headers, body: sent, signal: AbortSignal.timeout(PATIENCE_MS) });
}

const soonOrOnline = () =>
  Promise.race([pause(AGAIN_MS), new Promise((done) => addEventListener("online", done, { once: true }))]);

// Send what waits, oldest first, a stop before everything else; then the laptop's board takes over again.
async function drain() {
  if (draining) return;
  draining = true;
  const told = { refusedWith: 0, notice: "" };
  let stumbles = 0;
  while (cut) {
    const next = waiting().find(isStop) ?? waiting()[0];
    try {
      if (!next) {
        if (await laptopTakesOver()) break;
        await pause(MAKING_MS);
        continue;
      }
      const answer = await send(next);
      stumbles = answer.status === BROKEN ? stumbles + 1 : 0;
      if (answer.status > BROKEN || (stumbles > 0 && stumbles < TRIES)) throw new Error("not answered");
      stumbles = 0;
      if (answer.status === NOT_PAIRED) {
        told.refusedWith = NOT_PAIRED;
        await notOurs(NOT_PAIRED);
        break;
      }
      if (answer.status >= 400) told.refusedWith = answer.status;
      else if (isOurs(next)) told.notice = noticeIn(await answer.text()) || told.notice;
      forget(next.id);
      sign();
    } catch {
      await soonOrOnline();
    }
  }
  draining = false;
  cut = false;
  document.querySelector(".offline")?.remove();
  document.dispatchEvent(new CustomEvent("recoup:back", { detail: told }));
  follow();
}

// Another page of this browser has kept a tap: this one has it too.
addEventListener("storage", ({ key }) => {
  if (!isTap(key) || !cut || !canTake()) return;
  for (const tap of waiting()) if (isOurs(tap) && !applied.includes(tap.id)) apply(tap);
  sign();
});

// Nothing waits: the laptop's board in place of this page's. True once it is there, or once it is clear that this device
// gets none any more. Throws when there is no connection.
async function laptopTakesOver() {
  const signal = AbortSignal.timeout(PATIENCE_MS);
  const answer = await fetch(`/live/${program()}/policy/here`, { signal });
  if ([NOT_PAIRED, ...NOT_OURS].includes(answer.status)) {
    await notOurs(answer.status);
    location.reload();
    return true;
  }
  returning = true;
  try {
    await window.htmx.ajax("GET", location.pathname, { target: "#board", swap: "outerHTML" });
  } finally {
    returning = false;
  }
  return waiting().length === 0 && !board().dataset.local;
}
