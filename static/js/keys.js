// Keys for the desk: `/` goes to search, `?` shows the keys, Ctrl+Enter sends the form. Esc closes a dialog by itself.

document.addEventListener("keydown", (event) => {
  if (event.isComposing) return;
  if (event.key === "Enter" && (event.ctrlKey || event.metaKey)) return send(event);
  if (event.ctrlKey || event.metaKey || event.altKey || isWriting(event.target)) return;
  if (event.key === "/") return goToSearch(event);
  if (event.key === "?") return open(document.getElementById("keys"));
});

document.addEventListener("click", (event) => {
  const opener = event.target.closest("[data-opens]");
  if (opener) open(document.getElementById(opener.dataset.opens));
});

function send(event) {
  const form = event.target.form;
  if (!form) return;
  event.preventDefault();
  form.requestSubmit();
}

function goToSearch(event) {
  const search = document.querySelector("[data-search]");
  if (!search) return;
  event.preventDefault();
  search.focus();
  search.select();
}

function open(dialog) {
  if (dialog && !dialog.open) dialog.showModal();
}

function isWriting(target) {
  return target.matches("input:not([type=checkbox], [type=radio]), textarea, select, [contenteditable]");
}
