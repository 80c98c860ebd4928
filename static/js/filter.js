// `form[data-filter="ID"]`: a GET form that narrows a list as one types. It fetches its own page, puts the element
// with that id in place and keeps the address, so that reload, back and bookmark show the same list.
import { parse, swapOne, whenPaused } from "./swap.js";

const PAUSE = 200;

const narrow = whenPaused(PAUSE, async (form, signal) => {
  const address = addressOf(form);
  const answer = await fetch(address, { headers: { Accept: "text/html", "Trug-Part": "filter" }, signal });
  if (!answer.ok) return;
  const fresh = parse(await answer.text()).getElementById(form.dataset.filter);
  if (fresh && swapOne(fresh)) history.replaceState(history.state, "", address);
});

document.addEventListener("input", (event) => {
  const form = event.target.closest("form[data-filter]");
  if (form) narrow(form);
});

function addressOf(form) {
  const address = new URL(form.action, document.baseURI);
  const asked = [...new FormData(form)].filter(([, value]) => value !== "");
  address.search = new URLSearchParams(asked);
  return address;
}
