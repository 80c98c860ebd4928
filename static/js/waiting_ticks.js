// Ticks that Trug has not answered for yet, kept on the device so that a reload or a dead battery loses none: one a line of
// a sheet, under "trug-tick:sheet:line".

const PREFIX = "trug-tick:";
// Where the browser keeps nothing, they last as long as the page.
const memory = new Map();

/** Keeps a tick until it is dropped; it takes the place of an earlier one of its line. */
export function wait(tick) {
  memory.set(nameOf(tick), tick);
  try {
    localStorage.setItem(nameOf(tick), JSON.stringify(tick));
  } catch {
    // It is in memory.
  }
}

/** Forgets a tick that was answered for; a newer one of its line stays. */
export function drop(tick) {
  if (waitingFor(tick.sheet, tick.line)?.mark !== tick.mark) return;
  memory.delete(nameOf(tick));
  try {
    localStorage.removeItem(nameOf(tick));
  } catch {
    // As above.
  }
}

/** A newer tick of the line, set while this one was on its way, has seen what became of this one. */
export function follow(tick, mark) {
  const newer = waitingFor(tick.sheet, tick.line);
  if (newer) wait({ ...newer, seen: mark });
}

/** The waiting tick of a line, if there is one. */
export function waitingFor(sheet, line) {
  const name = nameOf({ sheet, line });
  return read(name) ?? memory.get(name);
}

/** Those of a sheet. */
export function waitingOn(sheet) {
  return all().filter((tick) => tick.sheet === sheet);
}

/** The one that waits longest, of any sheet. */
export function oldest() {
  return all().sort((one, other) => one.at - other.at)[0];
}

function all() {
  const names = new Set(memory.keys());
  try {
    for (const name of Object.keys(localStorage)) if (name.startsWith(PREFIX)) names.add(name);
  } catch {
    // As above.
  }
  return [...names].map((name) => read(name) ?? memory.get(name)).filter(Boolean);
}

function read(name) {
  try {
    return JSON.parse(localStorage.getItem(name));
  } catch {
    return null;
  }
}

function nameOf({ sheet, line }) {
  return `${PREFIX}${sheet}:${line}`;
}
