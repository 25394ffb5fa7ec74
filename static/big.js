// The cue word alone: it follows the program, and the screen stays on where the browser lets it.
import { hear } from "./stream.js";
import { stayAwake } from "./awake.js";

const place = () => document.getElementById("big");
hear(place, () => window.htmx.ajax("GET", location.pathname, { target: "#big", swap: "outerHTML" }));
stayAwake();
