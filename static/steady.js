// A finger that touches twice must not meet the pad of the next pass, nor the next Undo: for a moment after the board
// has changed under it, those take no touch (app.css). The stop always does.

const SETTLES_MS = 300; // the two touches of a double tap lie closer together

export function steady() {
  const board = document.getElementById("board");
  board.classList.add("settling");
  setTimeout(() => board.classList.remove("settling"), SETTLES_MS);
}
