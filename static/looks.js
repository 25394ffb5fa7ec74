// How this device shows the live screen: hand and colours, kept in the browser. Read before the page is drawn.
(() => {
  const PLACE = "recoup.looks";
  const read = () => {
    try {
      return JSON.parse(localStorage.getItem(PLACE) ?? "{}");
    } catch {
      return {};
    }
  };
  const show = (looks) => {
    for (const name of ["hand", "colours"]) {
      if (looks[name]) document.documentElement.dataset[name] = looks[name];
    }
  };
  let looks = read();
  show(looks);
  document.addEventListener("DOMContentLoaded", () => {
    const box = document.getElementById("looks");
    if (!box) return;
    box.hidden = false;
    for (const choice of box.querySelectorAll("[data-look]")) {
      choice.value = looks[choice.dataset.look] ?? choice.value;
      choice.addEventListener("change", () => {
        looks = { ...looks, [choice.dataset.look]: choice.value };
        show(looks);
        try {
          localStorage.setItem(PLACE, JSON.stringify(looks));
        } catch {
          // No storage: it lasts as long as the page.
        }
      });
    }
  });
})();
