// A tap made before the scripts of a live page have come waits for them: sent as a plain form, it would be lost with the
// connection. Where they do not come at all, the plain form goes.
(() => {
  const MOST_MS = 5000;
  let held = [];
  const hold = (event) => {
    event.preventDefault();
    event.stopImmediatePropagation();
    held = [...held.filter(([form]) => form !== event.target), [event.target, event.submitter]];
  };
  const go = () => {
    removeEventListener("submit", hold, true);
    const all = held;
    held = [];
    for (const [form, button] of all) if (form.isConnected) form.requestSubmit(button);
  };
  addEventListener("submit", hold, true);
  addEventListener("recoup:ready", go, { once: true });
  setTimeout(go, MOST_MS);
})();
