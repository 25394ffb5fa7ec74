// The live screen, on top of forms that work without this. It keeps the screen awake, and it never loses a tap: a tap
// is kept in the browser until the laptop has answered, sent again while there is no connection, and still there when
// the page is loaded again. A tap carries its own id, so the laptop logs it once however often it arrives.

import { stayAwake } from "./awake.js";
import { runClock } from "./clock.js";
import { canTake, follow, isCut, markStopped, mayReplace, moveOn, takes, takesAnswered } from "./offline.js";
import { forgetGone } from "./kept.js";
import { hear } from "./stream.js";
import { typeAgain, typedNow } from "./typed.js";
import { forget, keep, waiting } from "./waiting.js";

const AGAIN_MS = 2500;
const PATIENCE_MS = 8000;
const GONE_MS = 3000; // once the page has come to rest
const SOON_MS = 2000; // a page that can go on by itself does so this long after a tap without an answer
const NOT_PAIRED = 401;
const NOT_STORED = 507; // a full disk, say: the tap stays here until there is room
const sending = new Set();
const board = () => document.getElementById("board");
const home = () => `/live/${board().dataset.program}`;
const isStop = (one) => one.action.endsWith("/hurt");
const pause = (ms) => new Promise((done) => setTimeout(done, ms));

function unsaved(text) {
  const place = document.getElementById("unsaved");
  if (!place) return;
  place.textContent = text;
  place.hidden = text === "";
}

// A sentence of the markup, in the reader's language.
const said = (name) => document.getElementById("unsaved")?.dataset[`say${name}`] ?? "";

// The text to act on must not wait for a connection.
function stopAtOnce() {
  const text = document.getElementById("stop-at-once");
  if (!text || board().dataset.mode === "stopped") return;
  board().dataset.mode = "stopped";
  board().replaceChildren(text.content.cloneNode(true));
  markStopped();
  scrollTo(0, 0);
}

// A stop that has not reached the laptop yet counts here already, whatever board arrives meanwhile.
function stopIfKept() {
  if (waiting().some((one) => isStop(one) && one.action === `${home()}/hurt`)) stopAtOnce();
}

// Send what is kept under this id until the laptop answers. A later tap on the same pass replaces an unanswered one.
// A page that holds the policy does not wait: it goes on by itself (offline.js), which then sends the tap.
async function sendUntilAnswered(id, request) {
  sending.add(id);
  for (;;) {
    const tap = waiting().find((one) => one.id === id);
    // The page has gone on by itself meanwhile, and has sent it.
    if (!tap) return new Response(null, { status: 204 });
    const { action, body } = tap;
    let why = "Waiting";
    try {
      const signal = AbortSignal.timeout(canTake() ? SOON_MS : PATIENCE_MS);
      const sent = new URLSearchParams(body);
      sent.set("sent_at", String(Date.now()));
      const answer = await fetch(action, { ...request, body: sent, signal });
      if (answer.status === NOT_STORED) {
        why = "Unwritten";
        throw new Error(why);
      }
      // A phone that has to be paired anew keeps its tap until then.
      if (answer.status !== NOT_PAIRED) forget(id);
      sending.delete(id);
      unsaved("");
      if (answer.ok && takesAnswered(tap)) return new Response(null, { status: 204 });
      return answer;
    } catch {
      if (takes(id)) {
        sending.delete(id);
        unsaved("");
        return new Response(null, { status: 204 });
      }
      unsaved(said(why));
      await pause(AGAIN_MS);
    }
  }
}

document.addEventListener("htmx:config:request", (event) => {
  const { ctx } = event.detail;
  const id = ctx.request.body?.get?.("event_id");
  if (!id) return;
  const body = [...ctx.request.body].filter(([name]) => name !== "made_at");
  keep({ id, action: ctx.request.action, body: [...body, ["made_at", String(Date.now())]] });
  if (sending.has(id)) {
    event.preventDefault();
    return;
  }
  if (ctx.request.action.endsWith("/hurt")) stopAtOnce();
  ctx.tap = { id, action: ctx.request.action, body };
  ctx.fetch = async (_address, request) => {
    const answer = await sendUntilAnswered(id, request);
    if (!ctx.target.isConnected) ctx.target = board();
    return answer;
  };
});

document.addEventListener("htmx:response:error", (event) => {
  const { request, response } = event.detail.ctx;
  if (request.method === "POST") refused(response.status);
});

function refused(status) {
  unsaved(said(status === NOT_PAIRED ? "Unpaired" : "Refused"));
}

// Taps kept from before this page was loaded, in their order.
async function sendKept() {
  // A stop goes first; everything else in its order.
  const kept = [...waiting()].sort((one, two) => isStop(two) - isStop(one));
  if (kept.length === 0) return;
  stopIfKept();
  if (isCut()) return; // this page goes on by itself, and sends them
  const request = { method: "POST", headers: { "HX-Request": "true" } };
  for (const { id, action } of kept) {
    const answer = await sendUntilAnswered(id, request);
    const ours = action.startsWith(`${home()}/`) || answer.status === NOT_PAIRED;
    if (!answer.ok && ours) return refused(answer.status);
  }
  if (board().dataset.view !== "passes") {
    await window.htmx.ajax("GET", location.pathname, { target: "#board", swap: "outerHTML" });
  }
}

// The board is replaced as a whole; this place stays, so a screen reader hears what changed.
function readOut() {
  const parts = [".latest", ".notice", ".line .say", ".line .under", ".stop h1"];
  const words = parts.map((part) => document.querySelector(`#board ${part}`)?.innerText ?? "");
  document.getElementById("heard").textContent = words.filter(Boolean).join(". ");
}

// On a small phone a question takes one line until it is asked: what to do next must not go below the fold.
const isSmall = matchMedia("(max-height: 700px) and (max-width: 500px)");

function foldQuestions() {
  if (isSmall.matches) for (const one of document.querySelectorAll("details.question")) one.open = false;
}

// What somebody has opened stays open, and what they have typed stays, when the board is fetched anew, as long as it is
// the same pass.
let opened = { pass: "", titles: [], typed: typedNow() };
const pass = () => document.querySelector("#board .pad h2")?.textContent ?? "";
const titles = (which) => [...document.querySelectorAll(`#board details${which} > summary`)];

document.addEventListener("htmx:before:swap", (event) => {
  const address = event.detail.ctx?.request?.action ?? "";
  if (!mayReplace(address)) event.preventDefault();
  opened = { pass: pass(), titles: titles("[open]").map((one) => one.textContent), typed: typedNow() };
});

function openAgain() {
  if (opened.pass !== pass()) return;
  for (const one of titles("")) if (opened.titles.includes(one.textContent)) one.parentElement.open = true;
  typeAgain(opened.typed);
}

document.addEventListener("htmx:after:swap", (event) => {
  const { request, response } = event.detail.ctx ?? {};
  if (response?.status !== 200) return;
  foldQuestions();
  if (request.method === "GET") openAgain();
  stopIfKept();
  readOut();
  if (event.detail.ctx.tap) moveOn(event.detail.ctx.tap);
  follow();
  if (request.method === "POST") scrollTo(0, 0);
});

// Another device has logged something: the stop at once, everything else as the board for this device.
document.addEventListener("recoup:news", (event) => {
  if (event.detail.kind === "stopped") stopAtOnce();
});

document.addEventListener("recoup:stop", stopAtOnce);
document.addEventListener("recoup:drawn", readOut);
document.addEventListener("recoup:back", (event) => {
  if (event.detail.refusedWith) refused(event.detail.refusedWith);
});

// One at a time: a fetch asked for meanwhile follows the one under way.
let fetching = false;
let again = false;

function fetchBoard() {
  if (isCut()) return; // taps wait: the laptop's board would be behind this one
  const { seen, view } = board().dataset;
  if (view === "passes") return; // forms to fill in: they stay; a stop shows all the same
  if (document.activeElement?.closest?.("#board details input, #board details select")) {
    setTimeout(fetchBoard, AGAIN_MS); // somebody is typing
    return;
  }
  if (fetching) {
    again = true;
    return;
  }
  fetching = true;
  const address = view === "big" ? `${home()}/big` : `${home()}/news?seen=${seen}`;
  const done = () => {
    fetching = false;
    if (again) {
      again = false;
      fetchBoard();
    }
  };
  window.htmx.ajax("GET", address, { target: "#board", swap: "outerHTML" }).then(done, done);
}

hear(board, fetchBoard);
foldQuestions();
runClock();
stayAwake();
sendKept();
follow();
setTimeout(() => forgetGone(board()?.dataset.program), GONE_MS);
