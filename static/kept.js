// What this device keeps of live programs, so that a page goes on, and starts again, without the laptop: for each
// program where it stands (local storage, at once with every tap) and its policy (the browser's cache, which there is
// over https and on localhost only; over plain http the policy lasts as long as the page). Only what the laptop gave
// to this device is kept, one policy a program, the latest programs alone. A device that is not paired any more keeps
// nothing but the taps that wait.

const PLACE = "recoup.place.";
const SHELF = "recoup-programs";
const MOST = 12;
const NEVER_REACHED = 1000000000; // no log has as many entries: an empty answer

// Where a program stands, as offline.js left it: { version, at, trail, applied, name, clock, stopped, when }, or null.
export function placeOf(program) {
  try {
    return JSON.parse(localStorage.getItem(PLACE + program) ?? "null");
  } catch {
    return null;
  }
}

export function keepPlace(program, place) {
  try {
    localStorage.setItem(PLACE + program, JSON.stringify({ ...place, when: Date.now() }));
  } catch {
    // No storage: the page then cannot start without the connection, and goes on while it is open.
  }
}

// Every program kept, the latest first: [{ program, name, when, stopped }].
export function keptPrograms() {
  let keys = [];
  try {
    keys = Object.keys(localStorage).filter((key) => key.startsWith(PLACE));
  } catch {
    return [];
  }
  return keys
    .map((key) => ({ ...placeOf(key.slice(PLACE.length)), program: key.slice(PLACE.length) }))
    .sort((one, two) => (two.when ?? 0) - (one.when ?? 0));
}

async function shelf() {
  try {
    return (await window.caches?.open(SHELF)) ?? null;
  } catch {
    return null;
  }
}

const addressOf = (program, version) => `/live/${program}/policy/${version}`;

// The policy of that version: from here if it is kept, else from the laptop. Throws when neither has it.
export async function policyOf(program, version) {
  const place = addressOf(program, version);
  const kept = await shelf();
  const found = await kept?.match(place);
  if (found) return await found.json();
  const answer = await fetch(place);
  if (!answer.ok) throw new Error(`no policy ${version}`);
  const text = await answer.text();
  try {
    await kept?.put(place, new Response(text, { headers: { "Content-Type": "application/json" } }));
  } catch {
    // A full disk: the policy then lasts as long as the page.
  }
  return JSON.parse(text);
}

// One policy a program: older ones may show what is hidden by now. And not more programs than one uses.
export async function tidy(program, version) {
  for (const old of keptPrograms().slice(MOST)) await forgetProgram(old.program);
  await drop((path) => path.startsWith(addressOf(program, "")) && path !== addressOf(program, version));
}

async function drop(isOld) {
  const kept = await shelf();
  for (const { url } of (await kept?.keys()) ?? []) {
    if (isOld(new URL(url).pathname)) await kept.delete(url);
  }
}

// A program that is over, or not for this device.
export async function forgetProgram(program) {
  try {
    localStorage.removeItem(PLACE + program);
  } catch {
    // Nothing is kept where there is no storage.
  }
  await drop((path) => path.startsWith(addressOf(program, "")));
}

// Programs kept from before that were deleted meanwhile, or are not for this device: asked of each but the open one.
export async function forgetGone(open) {
  for (const { program } of keptPrograms()) {
    if (program === open) continue;
    try {
      const { status } = await fetch(`/live/${program}/log?after=${NEVER_REACHED}`);
      if (status === 403 || status === 404) await forgetProgram(program);
    } catch {
      return; // no connection: another time
    }
  }
}

// This device is not paired any more.
export async function forgetAll() {
  for (const { program } of keptPrograms()) await forgetProgram(program);
  await window.caches?.delete(SHELF);
}
