// `form[data-live="URL"]`: as one types, the server computes the form's figures again and they are put in place.
// The answer is a piece of HTML; its elements with an id and `data-swap` replace the page's. Nothing is saved.
import { parse, swapMarked, whenPaused } from "./swap.js";

const PAUSE = 200;

const refresh = whenPaused(PAUSE, async (form, signal) => {
  try {
    const answer = await fetch(form.dataset.live, {
      method: "POST",
      body: new URLSearchParams(new FormData(form)),
      headers: { Accept: "text/html", "Trug-Part": "live" },
      signal,
    });
    // 422 is an answer too: it carries the messages at the fields.
    if (!answer.ok && answer.status !== 422) throw new Error(`status ${answer.status}`);
    swapMarked(parse(await answer.text()));
    tellStale(form, false);
  } catch (error) {
    if (error.name !== "AbortError") tellStale(form, true);
    throw error;
  }
});

document.addEventListener("input", (event) => {
  const form = event.target.closest("form[data-live]");
  if (form) refresh(form);
});

// Figures that could not be refreshed must not pass for current ones.
function tellStale(form, stale) {
  const note = form.querySelector("[data-live-note]");
  if (note) note.hidden = !stale;
}
