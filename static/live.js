// The live screen, on top of forms that work without this. It keeps the screen awake, and it never loses a tap: a tap
// is kept in the browser until the laptop has answered (waiting.js), sent again while there is no connection
// (sending.js), and still there when the page is loaded again.

import { stayAwake } from "./awake.js";
import { runClock } from "./clock.js";
import { forgetGone } from "./kept.js";
import { isFormPage } from "./forms.js";
import { moment } from "./moment.js";
import { follow, isCut, markStopped, mayReplace, moveOn } from "./offline.js";
import { begins, isPast, shows, showsStop } from "./order.js";
import { isSending, refused, sayWaiting, sendAll, sendKept, unsaved } from "./sending.js";
import { steady } from "./steady.js";
import { hear } from "./stream.js";
import { typeAgain, typedNow } from "./typed.js";
import { isStop, isTap, keepOrPutRight, waiting } from "./waiting.js";

const AGAIN_MS = 2500;
const GONE_MS = 3000; // once the page has come to rest
const POST = { method: "POST", headers: { "HX-Request": "true" } };
const board = () => document.getElementById("board");
const home = () => `/live/${board().dataset.program}`;
const isOurs = (action) => action.startsWith(`${home()}/`);

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
const isStopKept = () => waiting().some((one) => isStop(one) && isOurs(one.action));

function stopIfKept() {
  if (isStopKept()) stopAtOnce();
}

document.addEventListener("htmx:config:request", (event) => {
  const { ctx } = event.detail;
  ctx.began = begins();
  const id = ctx.request.body?.get?.("event_id");
  if (!id) return;
  const body = [...ctx.request.body].filter(([name]) => name !== "made_at");
  const tap = { id, action: ctx.request.action, body: [...body, ["made_at", String(moment())]] };
  const ids = keepOrPutRight(tap);
  if (ids.length === 0 || isSending(id)) {
    event.preventDefault();
    if (ids.length > 1) sendAll(ids, POST).then(() => fetchBoard());
    else if (!isSending(id)) sayWaiting();
    return;
  }
  if (isStop(tap)) stopAtOnce();
  ctx.tap = { id: ids.at(-1), action: tap.action, body };
  ctx.fetch = async (_address, request) => {
    const answer = await sendAll(ids, request);
    if (!ctx.target.isConnected) ctx.target = board();
    return answer;
  };
});

document.addEventListener("htmx:response:error", (event) => {
  const { request, response } = event.detail.ctx;
  if (request.method === "POST") refused(response.status);
});

// Taps kept from before this page was loaded.
async function sendWhatWasKept() {
  stopIfKept();
  const told = await sendKept(isOurs);
  if (!told) return;
  if (told.status) refused(told.status);
  else if (told.notice) unsaved(told.notice);
  if (told.status || isFormPage()) return;
  await window.htmx.ajax("GET", location.pathname, { target: "#board", swap: "outerHTML" });
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

// What somebody has opened stays open, and what they have typed stays, when a new board comes, as long as it is the same
// pass. Only what was sent just now closes, unless the laptop has something to say about it.
let opened = { pass: "", titles: [], typed: typedNow() };
const pass = () => document.querySelector("#board .pad h2")?.textContent ?? "";
const titles = (which) => [...document.querySelectorAll(`#board details${which} > summary`)];

function nowOpen({ request, sourceElement }) {
  const sent = request.method === "POST" ? sourceElement.closest("details")?.firstElementChild.textContent : undefined;
  return { pass: pass(), titles: titles("[open]").map((one) => one.textContent), typed: typedNow(), sent, request };
}

// Whether that board may come: it is not of the past, and does not take away a stop that the laptop does not know yet.
function mayCome(ctx, tasks) {
  if (!mayReplace(ctx.request.action)) return false;
  const fresh = tasks.map((one) => one.fragment?.querySelector?.("#board")).find(Boolean)?.dataset;
  if (!fresh || fresh.program !== board().dataset.program) return true;
  return !isPast(ctx.began, Number(fresh.seen)) && (fresh.mode === "stopped" || !isStopKept());
}

document.addEventListener("htmx:before:swap", (event) => {
  const { ctx, tasks } = event.detail;
  if (!mayCome(ctx, tasks)) event.preventDefault();
  opened = nowOpen(ctx);
});

function openAgain() {
  if (opened.pass !== pass()) return;
  const { sent, typed, request } = opened;
  if (sent !== undefined && !document.querySelector("#board .notice[role=status]")) {
    opened.titles = opened.titles.filter((one) => one !== sent);
    for (const key of typed.kept.keys()) if (key.startsWith(`${request.action} `)) typed.kept.delete(key);
  }
  for (const one of titles("")) if (opened.titles.includes(one.textContent)) one.parentElement.open = true;
  typeAgain(typed);
}

document.addEventListener("htmx:after:swap", (event) => {
  const { request, response } = event.detail.ctx ?? {};
  if (response?.status !== 200) return;
  shows(Number(board().dataset.seen));
  if (request.method === "POST" || opened.pass !== pass()) steady();
  foldQuestions();
  openAgain();
  stopIfKept();
  readOut();
  if (event.detail.ctx.tap) moveOn(event.detail.ctx.tap);
  follow();
  if (request.method === "POST") scrollTo(0, 0);
});

// Another device has logged something: the stop at once, everything else as the board for this device.
document.addEventListener("recoup:news", (event) => {
  if (event.detail.kind !== "stopped") return;
  showsStop(event.detail.seq);
  stopAtOnce();
});

// Another page of this browser has kept a tap.
addEventListener("storage", ({ key }) => {
  if (isTap(key)) stopIfKept();
});

document.addEventListener("recoup:stop", stopAtOnce);
document.addEventListener("recoup:drawn", readOut);
document.addEventListener("recoup:back", (event) => {
  if (event.detail.refusedWith) refused(event.detail.refusedWith);
  else if (event.detail.notice) unsaved(event.detail.notice);
});

// One at a time: a fetch asked for meanwhile follows the one under way. `whole`: whatever the laptop has, even less than
// this page knows (a copy was brought back).
let fetching = false;
let again = null;

function fetchBoard(whole = false) {
  // Taps wait: the laptop's board would be behind this one. Forms to fill in stay; a stop shows all the same.
  if (isCut() || isFormPage()) return;
  if (document.activeElement?.closest?.("#board details input, #board details select")) {
    setTimeout(fetchBoard, AGAIN_MS, whole); // somebody is typing
    return;
  }
  if (fetching) {
    again = again || whole;
    return;
  }
  fetching = true;
  const done = () => {
    fetching = false;
    const more = again;
    again = null;
    if (more !== null) fetchBoard(more);
  };
  window.htmx.ajax("GET", addressOfBoard(whole), { target: "#board", swap: "outerHTML" }).then(done, done);
}

function addressOfBoard(whole) {
  const { seen, view } = board().dataset;
  if (view === "big") return `${home()}/big`;
  return whole ? home() : `${home()}/news?seen=${seen}`;
}

shows(Number(board().dataset.seen));
hear(board, fetchBoard);
foldQuestions();
runClock();
stayAwake();
sendWhatWasKept();
follow();
setTimeout(() => forgetGone(board()?.dataset.program), GONE_MS);

// Taps that were made before (early.js) go now: htmx begins in a turn of its own, which comes before this one.
setTimeout(() => dispatchEvent(new Event("recoup:ready")));
