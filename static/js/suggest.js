// `input[data-suggest="URL"]`: type-ahead. Asks URL?q=… for names and offers them in the browser's own list,
// which works with keyboard, touch and screen reader. The answer is JSON: ["name", …] or [{name, note}, …].
import { whenPaused } from "./swap.js";

const PAUSE = 120;
const answers = new Map();
let lists = 0;

const offer = whenPaused(PAUSE, async (field, signal) => {
  const asked = field.value.trim();
  const list = listOf(field);
  // A chosen name needs no further offers.
  if ([...list.options].some((option) => option.value === asked)) return;
  fill(list, await namesFor(field.dataset.suggest, asked, signal));
});

document.addEventListener("input", (event) => {
  if (event.target.matches("input[data-suggest]")) offer(event.target);
});

document.addEventListener("focusin", (event) => {
  if (event.target.matches("input[data-suggest]")) offer(event.target);
});

async function namesFor(source, asked, signal) {
  const address = new URL(source, document.baseURI);
  address.searchParams.set("q", asked);
  const known = answers.get(address.href);
  if (known) return known;
  const answer = await fetch(address, { headers: { Accept: "application/json" }, signal });
  if (!answer.ok) return [];
  const names = await answer.json();
  answers.set(address.href, names);
  return names;
}

// One list a source, shared by all lines of a grid.
function listOf(field) {
  const source = field.dataset.suggest;
  let list = [...document.querySelectorAll("datalist[data-source]")].find((one) => one.dataset.source === source);
  if (!list) {
    list = document.createElement("datalist");
    list.id = `names-${(lists += 1)}`;
    list.dataset.source = source;
    document.body.append(list);
  }
  field.setAttribute("list", list.id);
  field.autocomplete = "off";
  return list;
}

function fill(list, names) {
  list.replaceChildren(...names.map((entry) => {
    const option = document.createElement("option");
    option.value = entry.name ?? entry;
    if (entry.note) option.label = entry.note;
    return option;
  }));
}
