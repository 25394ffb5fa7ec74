// A finger that touches twice must not meet the pad of the next pass, nor the next Undo: for a moment after the page has
// changed under it, those take no touch (app.css). The stop always does.

const SETTLES_MS = 300; // the two touches of a double tap lie closer together

export function steady(part = document.getElementById("board")) {
  part.classList.add("settling");
  setTimeout(() => part.classList.remove("settling"), SETTLES_MS);
}
