// Ticks on a sheet that is shown on a tablet: `[data-ticks="sheet key"]` around, `input[data-tick="line key"]` inside.
// They stay on this device only, so that a dropped tablet or a reload loses nothing; they are no record of the studio.

const PREFIX = "trug-ticks:";
const KEEP_MS = 30 * 24 * 60 * 60 * 1000;

dropOld();
for (const sheet of document.querySelectorAll("[data-ticks]")) show(sheet);

document.addEventListener("change", (event) => {
  const sheet = event.target.matches("input[data-tick]") && event.target.closest("[data-ticks]");
  if (sheet) keep(sheet);
});

document.addEventListener("click", (event) => {
  const clear = event.target.closest("[data-clear-ticks]");
  if (!clear) return;
  for (const sheet of document.querySelectorAll("[data-ticks]")) {
    for (const box of boxes(sheet)) box.checked = false;
    keep(sheet);
  }
});

function show(sheet) {
  const ticked = new Set(read(PREFIX + sheet.dataset.ticks)?.ticked ?? []);
  for (const box of boxes(sheet)) if (ticked.has(box.dataset.tick)) box.checked = true;
}

function keep(sheet) {
  const ticked = boxes(sheet).filter((box) => box.checked).map((box) => box.dataset.tick);
  try {
    localStorage.setItem(PREFIX + sheet.dataset.ticks, JSON.stringify({ at: Date.now(), ticked }));
  } catch {
    // A browser that keeps nothing still shows the tick until the page is left.
  }
}

function dropOld() {
  try {
    for (const key of Object.keys(localStorage)) {
      if (key.startsWith(PREFIX) && Date.now() - (read(key)?.at ?? 0) > KEEP_MS) localStorage.removeItem(key);
    }
  } catch {
    // As above.
  }
}

function read(key) {
  try {
    return JSON.parse(localStorage.getItem(key));
  } catch {
    return null;
  }
}

function boxes(sheet) {
  return [...sheet.querySelectorAll("input[data-tick]")];
}
