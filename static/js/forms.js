// Two guards on forms. `form[data-once]` is sent once, however often the button is pressed.
// A POST form that was changed and not sent asks before the page is left; `data-dirty` marks one that came back refused.

let leaving = false;

// A refused form: whoever types goes on from the list of what is to be put right.
document.querySelector(".error-summary, .conflict[tabindex]")?.focus();

document.addEventListener("input", (event) => {
  const form = event.target.closest("form");
  // A name at a sheet's ticks is kept as it is typed.
  if (form?.method !== "post" || form.dataset.ticksForm) return;
  form.dataset.dirty = "";
  leaving = false;
});

document.addEventListener("submit", (event) => {
  const form = event.target;
  if (form.matches("[data-once]") && !sendOnce(form)) return event.preventDefault();
  // Only what this form holds is saved: another changed form on the page still asks.
  leaving = !event.defaultPrevented && ![...changedForms()].some((other) => other !== form);
});

window.addEventListener("beforeunload", (event) => {
  if (!leaving && changedForms().length) event.preventDefault();
});

// Coming back by the browser's own button: the form may be sent again.
window.addEventListener("pageshow", (event) => {
  leaving = false;
  if (event.persisted) for (const form of document.querySelectorAll("form[data-sent]")) release(form);
});

function sendOnce(form) {
  if ("sent" in form.dataset) return false;
  form.dataset.sent = "";
  for (const button of buttonsOf(form)) button.setAttribute("aria-disabled", "true");
  return true;
}

function release(form) {
  delete form.dataset.sent;
  for (const button of buttonsOf(form)) button.removeAttribute("aria-disabled");
}

function changedForms() {
  return document.querySelectorAll("form[data-dirty]");
}

function buttonsOf(form) {
  return [...form.elements].filter((element) => element.type === "submit");
}
