// What every page runs: htmx, keys, appearance, and the panel of grounds.

import htmx from "htmx.org";
import { startGrounds } from "./parts/grounds";
import { startKeys } from "./parts/keys";
import { startTheme } from "./parts/theme";

// Nothing that a strict content security policy would refuse.
htmx.config.allowEval = false;
htmx.config.includeIndicatorStyles = false;
htmx.config.historyCacheSize = 0;
// A refused form comes back with status 422 and is shown like any other answer.
htmx.config.responseHandling = [
  { code: "204", swap: false },
  { code: "[23]..", swap: true },
  { code: "422", swap: true },
  { code: "[45]..", swap: false, error: true },
];

declare global {
  interface Window {
    htmx: typeof htmx;
  }
}
window.htmx = htmx;

function say(words: string): void {
  const messages = document.getElementById("messages");
  if (!messages) return;
  const notice = document.createElement("p");
  notice.className = "notice error";
  notice.textContent = words;
  messages.replaceChildren(notice);
}

document.addEventListener("htmx:responseError", () => {
  say("The program could not answer. What you see may be out of date: load the page again.");
});
document.addEventListener("htmx:sendError", () => {
  say("The program cannot be reached. Check the network, then try again; nothing typed here is lost.");
});

document.addEventListener("click", (event) => {
  if (event.target instanceof Element && event.target.closest("[data-print]")) print();
});

startTheme();
startGrounds();
startKeys();
