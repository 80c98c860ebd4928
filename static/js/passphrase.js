// `button[data-shows="id"]`: shows what is typed into a passphrase's field, or hides it again. What is sent is hidden before.
document.addEventListener("click", (event) => {
  const button = event.target.closest("[data-shows]");
  if (button) show(button, button.getAttribute("aria-pressed") !== "true");
});

document.addEventListener("submit", (event) => {
  for (const button of event.target.querySelectorAll("[data-shows]")) show(button, false);
});

function show(button, shown) {
  document.getElementById(button.dataset.shows).type = shown ? "text" : "password";
  button.setAttribute("aria-pressed", shown);
}
