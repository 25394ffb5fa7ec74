// No connection: the open page goes on logging and advising from the policy it holds. Taps wait in the browser's storage
// (waiting.js) and are sent once the link is back, in order; each carries its own id, so the laptop logs it once.
// Afterwards the laptop's own board replaces this page's.

import { running } from "./clock.js";
import { behind, boardAt } from "./policy.js";
import { forget, keep, waiting } from "./waiting.js";

const AGAIN_MS = 2500;
const MAKING_MS = 700;
const PATIENCE_MS = 8000;
const NOT_PAIRED = 401;
const pause = (ms) => new Promise((done) => setTimeout(done, ms));
const board = () => document.getElementById("board");
// The board itself only: neither the word alone nor the page that puts a pass right.
const program = () => (board()?.dataset.view ? undefined : board()?.dataset.program);
const PLACE = () => `recoup.place.${program()}`;

let policy = null;
let at = null;
let trail = []; // places by number of passes done, for undo
let cut = false;
let draining = false;
let asking = 0;

export const isCut = () => cut;
export const canTake = () => policy !== null && at !== null && at.place < policy.passes;

// Random signs: plain http has no crypto.randomUUID.
export function newId() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  return [...bytes].map((one) => one.toString(16).padStart(2, "0")).join("");
}

// Ask where the program stands, and fetch the policy if it is another one. Asks again while it is being made.
export async function follow() {
  const mine = ++asking;
  while (mine === asking && !cut && program()) {
    try {
      const here = await (await fetch(`/live/${program()}/policy/here`)).json();
      if (mine !== asking || cut) return;
      if (here.mode !== "advice" && here.mode !== "silent") return forgetPolicy();
      if (here.version) return await stand(here, mine);
    } catch {
      return recall();
    }
    await pause(MAKING_MS);
  }
}

async function stand(here, mine) {
  if (policy?.version !== here.version) {
    const fetched = await (await fetch(`/live/${program()}/policy/${here.version}`)).json();
    if (mine !== asking) return;
    policy = fetched;
    trail = [];
  }
  const latest = document.querySelector("#board .latest")?.firstChild?.textContent ?? "";
  at = {
    node: here.node,
    place: here.place,
    cents: here.cents,
    lost: here.lost,
    latest: latest.replace(/\. $/, ""),
    fell: document.querySelector("#board .foot.fell") !== null,
    undo: here.undo,
  };
  remember();
}

function forgetPolicy() {
  policy = at = null;
  trail = [];
}

function remember() {
  trail[at.place] = at;
  try {
    localStorage.setItem(PLACE(), JSON.stringify({ version: policy.version, at, trail }));
  } catch {
    // No storage: the page then cannot start without the connection, and goes on while it is open.
  }
}

// A page opened without the connection (an installed app): the place it had, and the policy the browser keeps.
async function recall() {
  try {
    const kept = JSON.parse(localStorage.getItem(PLACE()) ?? "null");
    if (!kept || policy) return;
    policy = await (await fetch(`/live/${program()}/policy/${kept.version}`)).json();
    ({ at, trail } = kept);
    goOn();
    draw();
  } catch {
    forgetPolicy();
  }
}

// A kept tap could not be sent. True: this page goes on by itself from here.
export function takes(id) {
  const tap = waiting().find((one) => one.id === id);
  if (!tap || !canTake() || !tap.action.startsWith(`/live/${program()}/`)) return false;
  goOn();
  apply(tap);
  return true;
}

function goOn() {
  cut = true;
  asking += 1;
  drain();
}

function apply({ id, action, body }) {
  const value = (name) => body.find(([key]) => key === name)?.[1] ?? "";
  const what = action.split("/").pop();
  if (what === "pass") {
    at = behind(policy, at, value("tap"), id);
    if (at.node !== null && !asPlanned(at.place - 1)) at.node = null;
  } else if (what === "undo" && at.place > 0) {
    const nothing = { node: null, cents: 0, lost: [], latest: "", fell: false, undo: { number: 0, of: "" } };
    at = trail[at.place - 1] ?? { ...nothing, place: at.place - 1 };
  } else if (what === "hide") {
    at = { ...at, node: null };
  } else {
    return sign();
  }
  remember();
  draw();
}

// A pass that the clock puts into the other half than the plan does is not what the policy reckoned with.
function asPlanned(place) {
  const clock = running();
  // After a stop of the music nothing counts as late.
  if (clock && (clock.said.still || clock.said.stood)) return !policy.late[place];
  return !clock || !clock.said.half || clock.seconds >= clock.said.half === Boolean(policy.late[place]);
}

// The clock runs on: it moves to the new board, and speaks of the pass to come.
function keepClock(fresh) {
  const old = board().querySelector(".clock");
  const place = fresh.querySelector(".clock");
  if (!old || !place) return;
  old.dataset.next = String(policy.seconds[at.place] ?? -1);
  old.dataset.number = String(at.place + 1);
  place.replaceWith(old);
}

function draw() {
  if (board().dataset.mode === "stopped") return sign();
  const fresh = boardAt(policy, at, newId);
  // The polling of the old board must not bring it back.
  for (const one of fresh.querySelectorAll("[hx-trigger]")) one.remove();
  keepClock(fresh);
  fresh.dataset.local = "yes";
  board().replaceWith(fresh);
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
  const words = count === 1 ? "1 tap waits for the laptop" : `${count} taps wait for the laptop`;
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
    const tap = { id, action: new URL(form.action).pathname, body: [...body, ["made_at", String(Date.now())]] };
    keep(tap);
    if (tap.action.endsWith("/hurt")) document.dispatchEvent(new CustomEvent("recoup:stop"));
    apply(tap);
  },
  true,
);

async function send({ action, body }) {
  const sent = new URLSearchParams(body);
  sent.set("sent_at", String(Date.now()));
  const headers = { "HX-Request": "true" };
  return await fetch(action, { method: "POST", headers, body: sent, signal: AbortSignal.timeout(PATIENCE_MS) });
}

// Send what waits, oldest first, a stop before everything else; then the laptop's board takes over again.
async function drain() {
  if (draining) return;
  draining = true;
  let refusedWith = 0;
  while (cut) {
    const isStop = (one) => one.action.endsWith("/hurt");
    const next = waiting().find(isStop) ?? waiting()[0];
    try {
      if (!next) {
        await fetch(`/live/${program()}/policy/here`, { signal: AbortSignal.timeout(PATIENCE_MS) });
        await window.htmx.ajax("GET", location.pathname, { target: "#board", swap: "outerHTML" });
        if (waiting().length === 0 && !board().dataset.local) break;
        continue;
      }
      const answer = await send(next);
      if (answer.status === NOT_PAIRED) throw new Error("not paired");
      if (answer.status >= 500) throw new Error("not answered");
      if (answer.status >= 400) refusedWith = answer.status;
      forget(next.id);
      sign();
    } catch {
      await Promise.race([pause(AGAIN_MS), new Promise((done) => addEventListener("online", done, { once: true }))]);
    }
  }
  draining = false;
  cut = false;
  sign();
  document.dispatchEvent(new CustomEvent("recoup:back", { detail: { refusedWith } }));
  follow();
}
