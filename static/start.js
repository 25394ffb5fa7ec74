// The page that opens when the laptop does not answer (worker.js gives it in place of any other): the live program
// that was asked for, if this device keeps it, going on where it stood; else the programs that are kept.

import { keptPrograms, placeOf } from "./kept.js";
import { startAlone } from "./offline.js";
import { waiting } from "./waiting.js";

const asked = /^\/live\/(\d+)/.exec(location.pathname)?.[1];
const place = (id) => document.getElementById(id);
const isHurt = () => waiting().some(({ action }) => action === `/live/${asked}/hurt`);

async function goOn() {
  const kept = asked && placeOf(asked);
  if (!kept) return false;
  const board = place("board");
  board.dataset.program = asked;
  delete board.dataset.view;
  const stopped = kept.stopped || isHurt();
  try {
    if (!(await startAlone()) && !stopped) return false;
  } catch {
    if (!stopped) return false; // the policy is not kept
  }
  history.replaceState(null, "", `/live/${asked}`);
  document.body.classList.add("live");
  document.querySelector(".banner").hidden = true;
  place("kept-programs").hidden = true;
  place("program-alone").hidden = false;
  await import("./live.js");
  if (stopped) document.dispatchEvent(new CustomEvent("recoup:stop"));
  return true;
}

function list() {
  const board = place("board");
  board.replaceChildren();
  board.dataset.view = "start";
  place("kept-programs").hidden = false;
  place("not-here").hidden = asked === undefined;
  place("no-answer").hidden = location.pathname === "/alone";
  const programs = keptPrograms();
  place("none-kept").hidden = programs.length > 0;
  place("some-kept").hidden = programs.length === 0;
  const pattern = place("kept-link").content.firstElementChild;
  for (const { program, name } of programs) {
    const item = pattern.cloneNode(true);
    const link = item.querySelector("a");
    link.href = `/live/${program}`;
    if (name) link.textContent = name.replace(/\.$/, "");
    else link.append(` ${program}`);
    place("kept-list").append(item);
  }
}

if (!(await goOn())) list();
addEventListener("online", () => {
  if (!place("kept-programs").hidden) location.reload();
});
