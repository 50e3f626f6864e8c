// The bench: steps are ticked off, and stay so for this set-up.

import { memory } from "./ask.js";

const list = document.querySelector("[data-steps]");

if (list) {
  const name = `bench ${list.dataset.steps}`;
  const boxes = [...list.querySelectorAll("input")];
  const says = document.querySelector("[data-done]");
  const count = () => {
    const done = boxes.filter((box) => box.checked).length;
    says.textContent = done === boxes.length ? "All done" : `${done} of ${boxes.length} done`;
  };
  const ticked = memory.get(name) ?? [];
  boxes.forEach((box, n) => {
    box.checked = Boolean(ticked[n]);
    box.addEventListener("change", () => {
      memory.set(name, boxes.map((one) => one.checked));
      count();
    });
  });
  document.querySelector("[data-untick]").addEventListener("click", () => {
    for (const box of boxes) box.checked = false;
    memory.set(name, []);
    count();
  });
  count();
}
