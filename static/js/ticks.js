// Ticks on a sheet that several people work from: `[data-ticks="sheet"]` around, `input[data-tick="line"]` inside, and
// `form[data-ticks-form="sheet"]` above (templates/parts/ticks.html). Each tick is sent by itself as it is set; what
// others tick is asked for every few seconds while the page is looked at. Without network a tick waits on the device.
import { drop, follow, oldest, wait, waitingFor, waitingOn } from "./waiting_ticks.js";

const PAUSE = 3000;
const PAUSE_WITHOUT_ANSWER = 10000;
const PATIENCE = 8000;
const SOON = 1500;

const sheets = new Set([...document.querySelectorAll("[data-ticks]")].map((sheet) => sheet.dataset.ticks));
// By sheet and line, as last told; nothing until the first answer: the page shows them as they were.
const known = new Map();
// What this page did itself is no news to it: marks it set, lines ("sheet:line") it took back.
const own = new Set();
let tag = null;
let reached = true;
// Trug answers, but nobody is logged in on this device any more.
let loggedOut = false;
let sending = false;
let sent = 0;
let timer;

document.addEventListener("change", (event) => {
  const box = event.target.closest("input[data-tick]");
  if (box) tick(box);
  if (event.target.closest("[data-ticks-form] input[name=hand]")) sign(event.target.value);
});

// A whole sheet is cleared by its form: what waits for it is cleared with it.
document.addEventListener("submit", (event) => {
  const sheet = event.target.dataset.ticksForm;
  if (!sheet || event.submitter?.name !== "clear") return;
  if (reached) return waitingOn(sheet).forEach(drop);
  event.preventDefault();
  say(sheet, "Not cleared: no answer from Trug just now.");
});

document.addEventListener("visibilitychange", beat);
window.addEventListener("online", beat);
window.addEventListener("pageshow", (event) => event.persisted && beat());

for (const button of document.querySelectorAll("[data-ticks-save]")) button.hidden = true;
for (const sheet of sheets) draw(sheet);
beat();

function tick(box) {
  const sheet = sheetOf(box);
  const line = box.dataset.tick;
  const before = waitingFor(sheet, line);
  const seen = before?.done ? before.mark : (known.get(sheet)?.[line]?.mark ?? seenAt(box));
  const mark = newMark();
  own.add(box.checked ? mark : `${sheet}:${line}`);
  wait({ sheet, line, mark, seen, done: box.checked, shown: box.dataset.count ?? "-", hand: hand(), at: Date.now() });
  draw(sheet);
  setTimeout(draw, SOON, sheet);
  beat();
}

// Sends what waits, then asks what others did; again after a pause, as long as the page is looked at.
async function beat() {
  clearTimeout(timer);
  if (document.hidden && !oldest()) return;
  const fine = (await send()) && (await ask());
  if (fine !== reached) {
    reached = fine;
    for (const sheet of sheets) draw(sheet);
  }
  clearTimeout(timer);
  if (!document.hidden && (sheets.size || oldest())) timer = setTimeout(beat, fine ? PAUSE : PAUSE_WITHOUT_ANSWER);
}

async function send() {
  if (sending) return true;
  sending = true;
  try {
    for (let next = oldest(); next; next = oldest()) await sendOne(next);
    return true;
  } catch {
    return false;
  } finally {
    sending = false;
  }
}

async function sendOne(tick) {
  const body = new URLSearchParams({ hand: tick.hand, mark: tick.mark, ago: Math.round((Date.now() - tick.at) / 1000) });
  body.append("seen", [tick.seen, tick.done ? 0 : 1, tick.shown, tick.line].join(" "));
  if (tick.done) body.append("tick", tick.line);
  const answer = await fetch(`/ticks/${encodeURIComponent(tick.sheet)}`, {
    method: "POST",
    body,
    headers: { "Trug-Part": "ticks" },
    keepalive: true,
    signal: AbortSignal.timeout(PATIENCE),
  });
  loggedOut = answer.status === 401;
  // A sheet that is not known any more never will be: nothing waits for it. Everything else is tried again.
  if (!answer.ok && answer.status !== 404) throw new Error(`status ${answer.status}`);
  sent += 1;
  drop(tick);
  if (!answer.ok) return;
  const told = await answer.json();
  const line = told.sheets[tick.sheet]?.[tick.line];
  if (line) follow(tick, line.mark);
  take(told);
  if (told.newer.length) say(tick.sheet, `Still ticked: ${line?.hand || "someone else"} set it since.`);
}

async function ask() {
  if (!sheets.size || document.hidden) return true;
  const before = sent;
  try {
    const answer = await fetch(`/ticks?${new URLSearchParams([...sheets].map((sheet) => ["sheet", sheet]))}`, {
      headers: tag ? { "If-None-Match": tag } : {},
      signal: AbortSignal.timeout(PATIENCE),
    });
    loggedOut = answer.status === 401 || answer.redirected;
    if (answer.status === 304) return true;
    if (!answer.ok || loggedOut) throw new Error(`status ${answer.status}`);
    const told = await answer.json();
    // Asked before a tick was sent, answered after it: older than what is shown already.
    if (before !== sent) return true;
    take(told);
    tag = answer.headers.get("ETag");
    return true;
  } catch {
    return false;
  }
}

function take(told) {
  for (const [sheet, lines] of Object.entries(told.sheets)) {
    if (!sheets.has(sheet)) continue;
    const before = known.get(sheet);
    known.set(sheet, lines);
    draw(sheet);
    if (before) sayOfOthers(sheet, before, lines);
  }
}

// One sentence for all that others did since the last answer.
function sayOfOthers(sheet, before, lines) {
  const set = Object.entries(lines).filter(([line, tick]) => tick.mark !== before[line]?.mark && !own.has(tick.mark));
  const taken = Object.keys(before).filter((line) => !lines[line] && !own.has(`${sheet}:${line}`));
  if (!set.length && !taken.length) return;
  const hands = [...new Set(set.map(([, tick]) => tick.hand || "Someone else"))].join(" and ");
  const news = [set.length && `${hands} ticked ${lineCount(set)}`, taken.length && `${lineCount(taken)} not ticked any more`];
  say(sheet, `${news.filter(Boolean).join("; ")}: ${tally(sheet)}.`);
}

function draw(sheet) {
  for (const box of boxes(sheet)) drawOne(sheet, box);
  const form = formOf(sheet);
  if (!form) return;
  form.querySelector("[data-ticks-tally]").textContent = tally(sheet);
  const waiting = waitingOn(sheet).filter(isLate).length;
  if (waiting) say(sheet, `${waiting === 1 ? "1 tick is" : `${waiting} ticks are`} not yet saved: kept on this device until ${loggedOut ? "you log in again: load the page anew" : "Trug answers"}.`);
  else if (form.dataset.waiting) say(sheet, "All ticks are saved.");
  form.dataset.waiting = waiting || "";
}

function drawOne(sheet, box) {
  const note = document.getElementById(box.getAttribute("aria-describedby"));
  const waiting = waitingFor(sheet, box.dataset.tick);
  if (waiting) {
    box.checked = waiting.done;
    if (isLate(waiting)) write(note, "not yet saved", true);
    return;
  }
  if (!known.has(sheet)) return;
  const tick = known.get(sheet)[box.dataset.tick];
  const otherwise = isOtherwise(tick, box);
  box.checked = Boolean(tick) && !otherwise;
  write(note, noteOf(tick, box, otherwise), otherwise);
  const seen = box.previousElementSibling;
  if (seen?.name === "seen") seen.value = [tick?.mark ?? "-", box.checked ? 1 : 0, box.dataset.count ?? "-", box.dataset.tick].join(" ");
}

function noteOf(tick, box, otherwise) {
  if (!tick) return "";
  if (otherwise) return `${tick.shown} ${box.dataset.word ?? "done"}, now ${box.dataset.count} (${tick.signed})`;
  return tick.hand ? `ticked by ${tick.signed}` : `ticked ${tick.signed}`;
}

function write(note, words, loud) {
  if (!note || note.textContent === words) return;
  note.textContent = words;
  note.classList.toggle("otherwise", loud);
}

// Ticked at another count than the line shows now.
function isOtherwise(tick, box) {
  return Boolean(tick) && tick.shown !== null && box.dataset.count !== undefined && String(tick.shown) !== box.dataset.count;
}

function isLate(tick) {
  return !reached || Date.now() - tick.at >= SOON;
}

function tally(sheet) {
  const words = new Map();
  for (const box of boxes(sheet)) {
    const word = box.dataset.word ?? "done";
    const [done, of] = words.get(word) ?? [0, 0];
    words.set(word, [done + (box.checked ? 1 : 0), of + 1]);
  }
  return [...words].map(([word, [done, of]]) => `${done} of ${of} ${word}`).join(", ");
}

function lineCount(list) {
  return list.length === 1 ? "1 line" : `${list.length} lines`;
}

function say(sheet, words) {
  const said = formOf(sheet)?.querySelector("[data-ticks-said]");
  if (said && said.textContent !== words) said.textContent = words;
}

// The name is typed once on each device; the server keeps it in the same cookie.
function sign(name) {
  document.cookie = `trug_hand=${encodeURIComponent(name)}; path=/; max-age=31536000; samesite=strict`;
  for (const field of document.querySelectorAll("[data-ticks-form] input[name=hand]")) field.value = name;
}

function hand() {
  const pair = document.cookie.split("; ").find((pair) => pair.startsWith("trug_hand="));
  return pair ? decodeURIComponent(pair.slice("trug_hand=".length).replaceAll("+", " ")) : "";
}

// Not randomUUID: that one is missing where the page does not come from this very machine.
function newMark() {
  return [...crypto.getRandomValues(new Uint8Array(16))].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}

function seenAt(box) {
  const seen = box.previousElementSibling;
  return seen?.name === "seen" ? seen.value.split(" ")[0] : "-";
}

function sheetOf(box) {
  return box.closest("[data-ticks]").dataset.ticks;
}

function formOf(sheet) {
  return document.querySelector(`form[data-ticks-form="${sheet}"]`);
}

function boxes(sheet) {
  return document.querySelectorAll(`[data-ticks="${sheet}"] input[data-tick]`);
}
