// This phone is not paired: what it was given while it was goes. Taps that wait to be sent stay, for when it is paired.

import { forgetAll } from "./kept.js";

forgetAll();
