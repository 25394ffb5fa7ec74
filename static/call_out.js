// The three-second clock of a call. It starts when the page is seen; how long the answer took rides along with the form.
// Without this script the laptop measures from delivery to answer.

const place = document.querySelector(".count");
const word = document.querySelector(".count-word");
const took = document.querySelector('input[name="took"]');
let started = 0;

function tick() {
  if (!started) return;
  const left = Number(place.dataset.limit) - (performance.now() - started) / 1000;
  word.textContent = left > 0 ? `${Math.ceil(left)} s` : place.dataset.sayLate;
  if (left > 0) setTimeout(tick, 100);
}

function begin() {
  if (document.visibilityState !== "visible") return;
  document.removeEventListener("visibilitychange", begin);
  started = performance.now();
  tick();
}

document.addEventListener("visibilitychange", begin);
document.querySelector(".answers").addEventListener("submit", () => {
  if (started) took.value = String(Math.round(performance.now() - started));
});
begin();
