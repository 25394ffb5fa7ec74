// Reads a policy (app/web/views/policy.py says what is in it): where a tap leads, what the screen says there, and the
// board as an element, from the laptop's own markup with its gaps filled. Texts are put in as texts, never as markup.

const PARTS = { pad: 0, cents: 1, losses: 2, line: 3, gone: 4, left: 5, more: 6 };
const FIRST_LEAD = 7;
const GAP = /⟦(\w+)⟧/g;
const LINE = ["headline", "gain", "needs", "cue", "why", "caution"];

// A place is where the program stands: { node, place, cents, lost, latest, fell, undo: { number, of }, off }. `node` is
// null outside the policy, and `off` names why (a key of `policy.why`); `place` counts the passes done.

// A place that the policy knows nothing of.
export function outside(place, off) {
  return { node: null, place, cents: 0, lost: [], latest: "", fell: false, undo: { number: 0, of: "" }, off };
}

export function padOf(policy, at) {
  if (at.place >= policy.passes) return null;
  if (at.node !== null) return policy.pads[policy.rows[at.node][PARTS.pad]];
  return policy.pads.find((pad) => pad.place === at.place && pad.swap === null);
}

// The place behind a tap. A tap that the policy does not know is logged all the same: `node` is null then.
export function behind(policy, at, sends, id) {
  const pad = padOf(policy, at);
  const number = pad?.sends.indexOf(sends) ?? -1;
  const row = at.node === null ? null : policy.rows[at.node];
  const lead = row && number >= 0 ? (row[FIRST_LEAD + number] ?? 0) : 0;
  const next = {
    node: lead > 1 ? at.node + lead - 1 : null,
    place: at.place + 1,
    cents: at.cents,
    lost: at.lost,
    latest: number < 0 ? fill(policy.logged, { number: String(at.place + 1) }) : pad.latest[number],
    fell: number >= 0 && pad.fell[number] === 1,
    undo: { number: at.place + 1, of: id },
    off: at.off ?? "unknown",
  };
  if (lead > 0) {
    next.cents += policy.cents[row[PARTS.cents]][number];
    const lost = policy.losses[row[PARTS.losses]][number];
    next.lost = [...at.lost, ...lost.map((text) => policy.texts[text])];
  }
  return next;
}

// What the screen says at a place, as the texts of the gaps; lists are lists of texts.
export function words(policy, at) {
  const said = { latest: at.latest, undo: String(at.undo.number), undo_of: at.undo.of };
  const row = at.node === null ? null : policy.rows[at.node];
  const line = row && policy.lines[row[PARTS.line]];
  if (!line) {
    said.off = policy.why[row ? policy.quiet : (at.off ?? "unknown")];
    return { shape: "off", said, notes: [] };
  }
  const text = (number) => policy.texts[number];
  LINE.forEach((name, place) => {
    said[name] = text(line[place + 1]);
  });
  const left = policy.left[row[PARTS.left]];
  said.gone = [...policy.gone[row[PARTS.gone]].map(text), ...at.lost];
  said.left = left.map(([number, owed]) => ({ text: text(number), owed: owed === 1 }));
  const base = [Math.floor(at.cents / 100), String(at.cents % 100).padStart(2, "0")].join(policy.decimal);
  said.points = fill(policy.points[at.place], { base, more: policy.more[row[PARTS.more]] });
  const notes = line[7].map(([says, source, how_sure]) => ({
    says: text(says),
    source: text(source),
    how_sure: text(how_sure),
  }));
  return { shape: text(line[0]), said, notes };
}

function fill(text, said) {
  return text.replace(GAP, (whole, name) => (typeof said[name] === "string" ? said[name] : whole));
}

// The board at a place, ready to stand where the old one stood.
export function boardAt(policy, at, newId) {
  const { shape, said, notes } = words(policy, at);
  const finished = at.place >= policy.passes;
  const ending = at.fell ? " fell" : at.undo.number === 0 ? " first" : "";
  const board = parsed(policy.boards[(finished ? "finished" : shape) + ending]);
  const pad = padOf(policy, at);
  const old = board.querySelector(".pad");
  if (old && pad) old.replaceWith(parsed(pad.markup));
  else old?.remove();
  repeat(board, "⟦gone⟧", (said.gone ?? []).map((text) => ({ gone: text })));
  const left = said.left ?? [];
  repeatLeft(board, left);
  repeat(board, "⟦says⟧", notes);
  fillAll(board, { ...said, event: newId() });
  board.dataset.place = String(at.place);
  return board;
}

// The word alone at a place.
export function bigAt(policy, at, newId) {
  const { big } = policy;
  const word = bigWord(policy, at);
  const board = filled(big.markup, { word, event: newId() });
  board.dataset.length = String([4, 8, 16].filter((most) => word.length > most).length + 1);
  board.dataset.place = String(at.place);
  return board;
}

function bigWord(policy, at) {
  const pad = padOf(policy, at);
  if (!pad) return policy.big.done;
  const line = at.node === null ? null : policy.lines[policy.rows[at.node][PARTS.line]];
  if (!line) return policy.mode === "silent" || at.off === "hidden" ? policy.big.silent : pad.word;
  const [headline, word] = policy.big.leave;
  return policy.texts[line[1]] === headline ? word : pad.word;
}

// Markup of the laptop as an element, its gaps filled.
export function filled(markup, said) {
  const element = parsed(markup);
  if (element) fillAll(element, said);
  return element;
}

function parsed(markup) {
  const holder = document.createElement("template");
  holder.innerHTML = markup;
  return holder.content.firstElementChild;
}

// The list item that holds a gap, once for each of `rows`; a list without items goes away.
function repeat(board, mark, rows) {
  const item = [...board.querySelectorAll("li")].find((one) => one.textContent.includes(mark));
  if (!item) return;
  for (const row of rows) {
    const copy = item.cloneNode(true);
    fillAll(copy, row);
    item.before(copy);
  }
  const list = item.parentElement;
  item.remove();
  if (rows.length === 0) list.remove();
}

function repeatLeft(board, rows) {
  const items = [...board.querySelectorAll("li")];
  const usual = items.find((one) => one.textContent.trim() === "⟦left⟧");
  const owed = items.find((one) => one.textContent.trim() === "⟦owed⟧");
  if (!usual || !owed) return;
  if (rows.length === 0) {
    (usual.closest(".left") ?? usual.parentElement).remove();
    return;
  }
  for (const row of rows) {
    const copy = (row.owed ? owed : usual).cloneNode(true);
    copy.textContent = row.text;
    usual.before(copy);
  }
  usual.remove();
  owed.remove();
}

// Every gap of a kind that is a single text, in texts and in attributes.
function fillAll(element, said) {
  const walker = document.createTreeWalker(element, NodeFilter.SHOW_TEXT | NodeFilter.SHOW_ELEMENT);
  for (let node = walker.currentNode; node; node = walker.nextNode()) {
    if (node.nodeType === Node.TEXT_NODE) {
      if (node.data.includes("⟦")) node.data = fill(node.data, said);
      continue;
    }
    for (const { name, value } of [...node.attributes]) {
      if (value.includes("⟦")) node.setAttribute(name, fill(value, said));
    }
  }
}
