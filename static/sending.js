// Sends taps until the laptop has answered. Each carries its own id, so the laptop logs it once however often it arrives.

import { moment } from "./moment.js";
import { canTake, isCut, takes, takesAnswered } from "./offline.js";
import { forget, isStop, noticeIn, waiting } from "./waiting.js";

const AGAIN_MS = 2500;
const PATIENCE_MS = 8000;
const SOON_MS = 2000; // a page that can go on by itself does so this long after a tap without an answer
const NOT_PAIRED = 401;
const NOT_STORED = 507; // a full disk, say: the tap stays here until there is room
const BROKEN = 500;
const TRIES = 3; // a tap over which the laptop stumbles so often is refused
const AWAY = [502, 503, 504]; // a door on the way, while the laptop behind it starts anew
const sending = new Set();
const pause = (ms) => new Promise((done) => setTimeout(done, ms));

export const isSending = (id) => sending.has(id);

export function unsaved(text) {
  const place = document.getElementById("unsaved");
  if (!place) return;
  place.textContent = text;
  place.hidden = text === "";
}

export const sayWaiting = () => unsaved(said("Waiting"));

// A sentence of the markup, in the reader's language.
const said = (name) => document.getElementById("unsaved")?.dataset[`say${name}`] ?? "";

export function refused(status) {
  unsaved(said(status === NOT_PAIRED ? "Unpaired" : "Refused"));
}

async function sent({ action, body }, request) {
  const signal = AbortSignal.timeout(canTake() ? SOON_MS : PATIENCE_MS);
  const form = new URLSearchParams(body);
  form.set("sent_at", String(moment()));
  return await fetch(action, { ...request, body: form, signal });
}

const nothing = () => new Response(null, { status: 204 });

// Send what is kept under this id until the laptop answers.
// A page that holds the policy does not wait: it goes on by itself (offline.js), which then sends the tap.
export async function sendUntilAnswered(id, request) {
  sending.add(id);
  try {
    return await answered(id, request);
  } finally {
    sending.delete(id);
  }
}

async function answered(id, request) {
  for (let stumbles = 0; ; ) {
    const tap = waiting().find((one) => one.id === id);
    if (!tap) return nothing(); // the page has gone on by itself meanwhile, or another one has sent it
    let why = "Waiting";
    try {
      const answer = await sent(tap, request);
      if (answer.status === BROKEN && ++stumbles < TRIES) {
        await pause(AGAIN_MS);
        continue;
      }
      if (answer.status === NOT_STORED) why = "Unwritten";
      if (answer.status === NOT_STORED || AWAY.includes(answer.status)) throw new Error(why);
      // A phone that has to be paired anew keeps its tap until then.
      if (answer.status !== NOT_PAIRED) forget(id);
      unsaved("");
      return answer.ok && takesAnswered(tap) ? nothing() : answer;
    } catch {
      if (takes(id)) {
        unsaved("");
        return nothing();
      }
      unsaved(said(why));
      await pause(AGAIN_MS);
    }
  }
}

// Several that belong together, one after the other; gives the last answer.
export async function sendAll(ids, request) {
  let answer = nothing();
  for (const id of ids) answer = await sendUntilAnswered(id, request);
  return answer;
}

// Taps kept from before this page was loaded, in their order, a stop first. Gives the status of a refusal and what the
// laptop said of a tap it could not log: { status, notice }; null where nothing waited.
export async function sendKept(isOurs) {
  const kept = [...waiting()].sort((one, two) => isStop(two) - isStop(one));
  if (kept.length === 0 || isCut()) return null; // a page that goes on by itself sends them itself
  let notice = "";
  for (const { id, action } of kept) {
    const answer = await sendUntilAnswered(id, { method: "POST", headers: { "HX-Request": "true" } });
    if (answer.status === NOT_PAIRED) return { status: NOT_PAIRED, notice };
    if (!answer.ok && isOurs(action)) return { status: answer.status, notice };
    if (isOurs(action)) notice = noticeIn(await answer.text()) || notice;
  }
  return { status: 0, notice };
}
