// What somebody has typed or chosen in a form of the board, and where they are typing: a board that is fetched anew
// meanwhile must not take it away. A field is found again by the address of its form, its name and its choice.

const isChoice = (field) => field.type === "radio" || field.type === "checkbox";
const keyOf = (field) => [field.form?.getAttribute("action"), field.name, isChoice(field) ? field.value : ""].join(" ");
const fields = () => [...document.querySelectorAll("#board form :is(input:not([type=hidden]), select, textarea)")];

function isChanged(field) {
  if (isChoice(field)) return field.checked !== field.defaultChecked;
  if (field.options) return [...field.options].some((one) => one.selected !== one.defaultSelected);
  return field.value !== field.defaultValue;
}

export function typedNow() {
  const kept = fields()
    .filter(isChanged)
    .map((field) => [keyOf(field), { value: field.value, checked: field.checked }]);
  const here = fields().find((field) => field === document.activeElement);
  return { kept: new Map(kept), writing: here && keyOf(here) };
}

export function typeAgain({ kept, writing }) {
  for (const field of fields()) {
    const key = keyOf(field);
    const was = kept.get(key);
    if (was && isChoice(field)) field.checked = was.checked;
    else if (was) field.value = was.value;
    if (key === writing) field.focus({ preventScroll: true });
  }
}
