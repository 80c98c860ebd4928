// Replaces parts of the page by id with fresh ones from the server, without disturbing who is typing.

/** Parses an answer into a document that is not shown. */
export function parse(html) {
  return new DOMParser().parseFromString(html, "text/html");
}

/** Puts every `[data-swap]` element of `fresh` in the place of the page's element of the same id. */
export function swapMarked(fresh) {
  for (const element of fresh.querySelectorAll("[data-swap][id]")) swapOne(element);
}

/** Puts `element` in the place of the page's element of the same id; leaves the one that holds the focus alone. */
export function swapOne(element) {
  const old = document.getElementById(element.id);
  if (!old || old === element || old.contains(document.activeElement)) return false;
  const adopted = document.adoptNode(element);
  keepOpened(old, adopted);
  old.replaceWith(adopted);
  return true;
}

// A working that someone opened stays open when its figures are refreshed.
function keepOpened(old, fresh) {
  const before = detailsOf(old);
  detailsOf(fresh).forEach((details, i) => {
    if (before[i]?.open) details.open = true;
  });
}

function detailsOf(element) {
  const inside = [...element.querySelectorAll("details")];
  return element.matches("details") ? [element, ...inside] : inside;
}

/** Runs `work` once the calls for `key` have paused for `pause` ms; an older run's signal is aborted. */
export function whenPaused(pause, work) {
  const pending = new WeakMap();
  return (key) => {
    const before = pending.get(key);
    clearTimeout(before?.timer);
    before?.control.abort();
    const control = new AbortController();
    const timer = setTimeout(() => run(work, key, control.signal), pause);
    pending.set(key, { timer, control });
  };
}

async function run(work, key, signal) {
  try {
    await work(key, signal);
  } catch (error) {
    if (error.name !== "AbortError") console.warn("Trug: the page was not refreshed", error);
  }
}
