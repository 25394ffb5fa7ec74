// Answers come in any order. A board that was asked for before the one on the screen came, and that knows less of the
// log, is of the past: it must not come back, least of all over a stop.

let turn = 0;
let since = 0; // the turn in which the screen got what it shows
let knows = 0; // the number of the latest entry that it shows

// A request begins: its turn.
export const begins = () => ++turn;

// The screen shows the log up to that number.
export function shows(seen) {
  knows = seen;
  since = ++turn;
}

// Somebody said stop in the entry of that number, and the screen shows it.
export function showsStop(seq) {
  if (seq > knows) shows(seq);
}

export const isPast = (began, seen) => began < since && seen < knows;
