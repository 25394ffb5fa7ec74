// The pages of forms beside the live screen: a pass put right, what is enough. What is sent from them is kept like every
// tap until the laptop has answered, and what is typed stays in its form meanwhile.

import { moment } from "./moment.js";
import { isSending, refused, sendUntilAnswered, unsaved } from "./sending.js";
import { keep, noticeIn } from "./waiting.js";

const PAGES = ["passes", "aim"];
const board = () => document.getElementById("board");
export const isFormPage = () => PAGES.includes(board().dataset.view);

document.addEventListener("submit", async (event) => {
  const form = event.target;
  if (!isFormPage() || form.hasAttribute("hx-post") || !board().contains(form)) return;
  const body = [...new FormData(form, event.submitter)].map(([name, value]) => [name, String(value)]);
  const id = body.find(([name]) => name === "event_id")?.[1];
  if (!id) return;
  event.preventDefault();
  keep({ id, action: new URL(form.action).pathname, body: [...body, ["made_at", String(moment())]] });
  if (!isSending(id)) show(await sendUntilAnswered(id, { method: "POST" }));
});

// Where a plain form would have led.
async function show(answer) {
  if (answer.redirected) return location.assign(answer.url);
  const text = await answer.text();
  const notice = noticeIn(text);
  if (notice) return unsaved(notice);
  if (answer.ok) return location.reload(); // another page of this browser has sent it
  const fresh = new DOMParser().parseFromString(text, "text/html").getElementById("board");
  if (fresh?.dataset.view !== board().dataset.view) return refused(answer.status);
  board().replaceWith(fresh); // the form with what was typed, and why it cannot be
  scrollTo(0, 0);
}
