// Taps the laptop has not answered yet, in order: { id, action, body: [[name, value], …] }. They are kept in the
// browser's own storage, so that a page loaded again still has them; where there is none, in memory. Each has a place of
// its own there: two open pages of one program never write over each other's taps.

const PLACE = "recoup.tap.";
const BEFORE = "recoup.waiting"; // where earlier versions kept all of them
const inMemory = new Map();

// Random signs: plain http has no crypto.randomUUID.
export function newId() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  return [...bytes].map((one) => one.toString(16).padStart(2, "0")).join("");
}

// Whether that key of the browser's storage holds a tap.
export const isTap = (key) => key === null || key.startsWith(PLACE);

// Every kept tap with its key, in order.
function kept() {
  const found = new Map(inMemory);
  try {
    for (const key of Object.keys(localStorage)) {
      if (isTap(key)) found.set(key, JSON.parse(localStorage.getItem(key)));
    }
  } catch {
    // No storage (a private window).
  }
  return [...found].filter(([, tap]) => tap).sort(([one], [other]) => numberIn(one) - numberIn(other));
}

const numberIn = (key) => Number(key.slice(PLACE.length).split(".")[0]);

export const waiting = () => kept().map(([, tap]) => tap);

export function keep(tap) {
  const all = kept();
  const own = all.find(([, one]) => one.id === tap.id)?.[0];
  const key = own ?? `${PLACE}${numberIn(all.at(-1)?.[0] ?? `${PLACE}0`) + 1}.${tap.id}`;
  try {
    localStorage.setItem(key, JSON.stringify(tap));
  } catch {
    inMemory.set(key, tap); // no room: such a tap lasts as long as the page
  }
}

export function forget(id) {
  for (const [key, tap] of kept()) {
    if (tap.id !== id) continue;
    inMemory.delete(key);
    try {
      localStorage.removeItem(key);
    } catch {
      // It was in memory.
    }
  }
}

export const isStop = (one) => one.action.endsWith("/hurt");

// What the laptop says of a tap that it could not log as it is, or "".
export function noticeIn(html) {
  const holder = document.createElement("template");
  holder.innerHTML = html;
  return holder.content.querySelector("#board .notice[role=status]")?.textContent ?? "";
}

const valueOf = ({ body }, wanted) => body.find(([name]) => name === wanted)?.[1] ?? "";
const said = ({ body }) => JSON.stringify(body.filter(([name]) => !["event_id", "made_at"].includes(name)));
const isPass = ({ action }) => action.endsWith("/pass");
const isUndo = ({ action }) => action.endsWith("/undo");
const isTakenBack = (id) => waiting().some((one) => isUndo(one) && valueOf(one, "of").split(" ").includes(id));

// A pass that waits already is tapped once more: with the same button it is the same tap. With another button the first
// is taken back, for it may have reached the laptop, and the second stands after it.
// Gives the ids to send, in order; none where the tap says nothing new.
export function keepOrPutRight(tap) {
  const about = (one) => one.action === tap.action && valueOf(one, "number") === valueOf(tap, "number");
  const before = isPass(tap) ? waiting().filter(about).at(-1) : undefined;
  if (!before || isTakenBack(before.id)) {
    keep(tap);
    return [tap.id];
  }
  if (said(before) === said(tap)) return [];
  const made_at = valueOf(tap, "made_at");
  const [back, again] = [newId(), newId()];
  const undo = [["number", valueOf(tap, "number")], ["of", before.id], ["event_id", back], ["made_at", made_at]];
  keep({ id: back, action: tap.action.replace(/pass$/, "undo"), body: undo });
  const body = tap.body.map(([name, value]) => [name, name === "event_id" ? again : value]);
  keep({ id: again, action: tap.action, body });
  return [before.id, back, again];
}

function moveOver() {
  try {
    for (const tap of JSON.parse(localStorage.getItem(BEFORE) ?? "[]")) keep(tap);
    localStorage.removeItem(BEFORE);
  } catch {
    // Nothing there.
  }
}

moveOver();
