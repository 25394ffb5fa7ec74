// The practice log without a connection. How an attempt ended is asked on the page of the elements itself, and every tap
// waits in the browser until the laptop has it (waiting.js, send_on.js), so nothing is lost and the next attempt does not
// wait. Without this script the forms and links work one page after the other.

import { sendOn } from "./send_on.js";
import { steady } from "./steady.js";
import { keep, newId, waiting } from "./waiting.js";

const ONCE_MS = 1000;

const place = (id) => document.getElementById(id);
const said = (where, name, values = {}) => where.dataset[name].replace(/\{(\w+)\}/g, (_, key) => values[key]);
let refusal = "";
let isAway = false; // the laptop did not answer

function ask(link) {
  const ending = place("ending");
  const form = place(`ending-${link.dataset.element}`).content.cloneNode(true);
  ending.querySelector("h1 .code").textContent = link.querySelector(".code").textContent;
  const entry = ending.querySelector(".entry");
  entry.textContent = link.dataset.entry ? `. ${said(entry, "say", { entry: link.dataset.entry })}` : "";
  ending.querySelector(".endings").replaceChildren(form);
  show(true);
}

function show(asks) {
  place("ending").hidden = !asks;
  place("attempts").hidden = asks;
  steady(place("attempts"));
  scrollTo(0, 0);
}

document.addEventListener("click", (event) => {
  const link = event.target.closest?.("a[data-element]");
  if (!link || event.ctrlKey || event.metaKey || event.shiftKey) return;
  event.preventDefault();
  history.pushState({ asks: true }, "");
  ask(link);
});
place("other-element")?.addEventListener("click", () => history.back());
addEventListener("popstate", () => place("attempts") && show(false));

document.addEventListener("submit", (event) => {
  const form = event.target;
  if (!form.matches(".fates, .take-back")) return;
  event.preventDefault();
  const body = Object.fromEntries(new FormData(form, event.submitter));
  if (form.matches(".fates")) logged(form, body, event.submitter);
  else takenBack(form, body);
});

function kept(id, form, body) {
  keep({ id, action: new URL(form.action).pathname, body: Object.entries(body) });
  refusal = "";
  sayWaiting(waiting().length);
  return sendOn();
}

function logged(form, body, button) {
  const sending = body.sending || newId();
  const sent = kept(sending, form, { ...body, sending });
  const attempts = place("attempts");
  if (!attempts) {
    // The page of one element alone. A second touch is the same attempt, the next one is another.
    setTimeout(() => form.elements.sending && (form.elements.sending.value = newId()), ONCE_MS);
    return sent.then(() => leave(body));
  }
  const code = place("ending").querySelector("h1 .code").textContent;
  const words = `${code}, ${button.querySelector(".word").textContent}`;
  last(said(attempts, "sayLast", { words }), sending, words);
  if (history.state?.asks) history.back();
  else show(false);
}

function takenBack(form, body) {
  kept(`${body.sending}-undo`, form, body);
  const words = place("attempts").dataset.words ?? "";
  last(words ? said(place("attempts"), "sayBack", { words }) : "", "", "");
}

// The latest attempt in words, with the button that takes it back.
function last(text, sending, words) {
  const attempts = place("attempts");
  attempts.dataset.words = words;
  attempts.querySelector(".last").textContent = text;
  const back = attempts.querySelector(".take-back");
  back.hidden = sending === "";
  back.elements.sending.value = sending;
}

function leave({ layout }) {
  if (waiting().length > 0) return;
  location.assign(layout ? `/layouts/${layout}/rehearse` : location.pathname.replace(/\/elements\/\d+$/, "") + location.search);
}

function sayWaiting(count) {
  const strip = place("log-waits");
  const text = isAway && count > 0 ? said(strip, count === 1 ? "sayOne" : "sayMore", { count }) : "";
  strip.textContent = [refusal, text].filter(Boolean).join(" ");
  strip.hidden = strip.textContent === "";
}

document.addEventListener("recoup:sending", ({ detail }) => {
  isAway = detail.isAway;
  const strip = place("log-waits");
  if (detail.refusedWith) refusal = said(strip, detail.refusedWith === 401 ? "sayUnpaired" : "sayRefused");
  sayWaiting(detail.waits);
  if (detail.waits === 0) fetchAnew();
});

// Nothing waits: what the laptop counts.
async function fetchAnew() {
  if (!place("attempts")) return;
  try {
    const text = await (await fetch(location.href)).text();
    const fresh = new DOMParser().parseFromString(text, "text/html").getElementById("attempts");
    if (!fresh || waiting().length > 0) return;
    fresh.hidden = place("attempts").hidden;
    const isOpen = place("attempts").querySelector(".when[open]") !== null;
    if (!isOpen) place("attempts").replaceWith(fresh);
  } catch {
    // The link went again: the next tap, or the next page, shows it.
  }
}
