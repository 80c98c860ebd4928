// Trug's script: makes a working page quicker, never makes it work. Every page does its job without it.
// No library, no build step, no inline style or handler, so that `default-src 'self'` holds.
import "./js/live.js";
import "./js/filter.js";
import "./js/grid.js";
import "./js/suggest.js";
import "./js/keys.js";
import "./js/ticks.js";
import "./js/forms.js";
import "./js/passphrase.js";

// Shows the controls that need a script (.scripted in the stylesheet).
document.documentElement.dataset.script = "";

document.addEventListener("click", (event) => {
  if (event.target.closest("[data-print]")) window.print();
});

// On a phone the rows of stages and of an event's pages scroll: bring the present one into sight.
for (const here of document.querySelectorAll(".stages [aria-current], .subnav [aria-current]")) {
  here.scrollIntoView({ block: "nearest", inline: "center" });
}
