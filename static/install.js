// Lets Recoup start on this device without the laptop (worker.js), where the browser allows it: over https with a
// certificate it trusts, and on the laptop itself. The page that says how it stands here has the words.

const place = document.getElementById("starts-alone");

function say(how) {
  for (const one of place?.querySelectorAll("[data-when]") ?? []) one.hidden = one.dataset.when !== how;
  if (place) place.hidden = false;
}

async function install() {
  if (!isSecureContext) return say("plain");
  if (!navigator.serviceWorker) return say("refused");
  try {
    await navigator.serviceWorker.register("/worker.js");
    await navigator.serviceWorker.ready;
    say("ready");
  } catch {
    say("refused"); // a certificate that the browser does not trust, or no storage in a private window
  }
}

install();
