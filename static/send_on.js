// On every page without a live program: what waits in this browser is sent, one after the other, oldest first, a stop
// before everything else. The page of a live program does it itself (sending.js, offline.js).

import { moment } from "./moment.js";
import { forget, isStop, waiting } from "./waiting.js";

const AGAIN_MS = 2500;
const PATIENCE_MS = 8000;
const NOT_PAIRED = 401;
const BROKEN = 500;
const TRIES = 3; // a tap over which the laptop stumbles so often is refused
let under = null;

const soonOrOnline = () =>
  Promise.race([
    new Promise((done) => setTimeout(done, AGAIN_MS)),
    new Promise((done) => addEventListener("online", done, { once: true })),
  ]);

// Said of every step as "recoup:sending" on the document: how many wait, the status of a refusal or 0, whether the laptop
// is out of reach.
const tell = (refusedWith, isAway = false) => {
  const detail = { waits: waiting().length, refusedWith, isAway };
  document.dispatchEvent(new CustomEvent("recoup:sending", { detail }));
};

// Until nothing waits any more. Asked for meanwhile, it is the same sending.
export function sendOn() {
  under ??= sendAll().finally(() => {
    under = null;
  });
  return under;
}

async function sendAll() {
  let stumbles = 0;
  for (let next = first(); next; next = first()) {
    const status = await statusOf(next);
    if (status === NOT_PAIRED) return tell(NOT_PAIRED); // it waits until this phone is paired anew
    stumbles = status === BROKEN ? stumbles + 1 : 0;
    if (status === 0 || status > BROKEN || (stumbles > 0 && stumbles < TRIES)) {
      tell(0, true);
      await soonOrOnline();
      continue;
    }
    stumbles = 0;
    forget(next.id);
    tell(status >= 400 ? status : 0);
  }
}

const first = () => waiting().find(isStop) ?? waiting()[0];

async function statusOf({ action, body }) {
  const sent = new URLSearchParams(body);
  sent.set("sent_at", String(moment()));
  const headers = { "HX-Request": "true" };
  try {
    const signal = AbortSignal.timeout(PATIENCE_MS);
    return (await fetch(action, { method: "POST", headers, body: sent, signal })).status;
  } catch {
    return 0;
  }
}

if (!document.getElementById("board")) sendOn();
