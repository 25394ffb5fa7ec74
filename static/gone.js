// A page that asks for news goes when the laptop says that it is not for this device any more, or not there any more: a
// phone that was removed, a program that was deleted. What it showed of somebody must not stay on the screen.

import { forgetProgram } from "./kept.js";

const NOT_OURS = [403, 404];
const REFUSED = [401, ...NOT_OURS];

document.addEventListener("htmx:response:error", async (event) => {
  const { request, response } = event.detail.ctx;
  if (request.method !== "GET" || !REFUSED.includes(response.status) || !(await isGone())) return;
  const program = document.getElementById("board")?.dataset.program;
  if (program && NOT_OURS.includes(response.status)) await forgetProgram(program);
  location.reload();
});

// Whether the page itself is refused too, not only a part of it.
async function isGone() {
  try {
    const { ok, redirected } = await fetch(location.href);
    return !ok || redirected;
  } catch {
    return false; // no connection
  }
}
