// Light: a choice of object is answered at once; the figures wait for the button.

const form = document.querySelector("[data-exposing]");
form.elements.target.addEventListener("change", () => form.requestSubmit());
// empty boxes stand for the notebook's own figures and need not stand in the address
form.addEventListener("submit", () => {
  for (const box of form.elements) if (box.name && box.value === "") box.disabled = true;
  setTimeout(() => {
    for (const box of form.elements) box.disabled = false;
  }, 500);
});
