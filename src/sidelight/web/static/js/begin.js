// The way from an empty folder to a notebook, part by part; each part is checked before the next.

import { Refused, ask, make } from "./ask.js";
import { combo } from "./combo.js";
import { sayWrong, typed } from "./notebook.js";

const form = document.querySelector("[data-begin]");
const parts = [...form.querySelectorAll("[data-part]")];
const says = form.querySelector("[data-says]");
const back = form.querySelector("[data-back]");
const on = form.querySelector("[data-on]");
const name = document.getElementById("add-name");
const list = form.querySelector("[data-chosen]");
const targets = [];
let now = 0;

function show(n) {
  now = n;
  parts.forEach((part, k) => {
    part.hidden = k !== n;
  });
  document.querySelectorAll("[data-way]").forEach((item, k) => {
    item.classList.toggle("done", k < n);
    if (k === n) item.setAttribute("aria-current", "step");
    else item.removeAttribute("aria-current");
  });
  back.hidden = n === 0;
  on.textContent = n === parts.length - 1 ? "Write the notebook" : `Next: ${parts[n + 1].querySelector("h2").textContent}`;
  says.textContent = "";
  scrollTo(0, 0);
  parts[n].querySelector("h2").focus({ preventScroll: true });
}

function answers() {
  const found = {};
  for (const key of form.querySelectorAll("[data-key]")) {
    if (key.closest(".off")) continue;
    const said = typed(key);
    if (said) found[key.dataset.key] = said;
  }
  return found;
}

async function step() {
  on.disabled = true;
  says.textContent = "Looking it through …";
  const part = parts[now].dataset.part;
  try {
    await ask("POST", "/api/begin/check", { part, answers: answers(), targets });
    if (now < parts.length - 1) show(now + 1);
    else {
      await ask("POST", "/api/begin", { answers: answers(), targets });
      location.href = "/season";
    }
  } catch (error) {
    const problems = error instanceof Refused ? error.problems : [{ text: String(error) }];
    sayWrong(parts[now], problems, says);
  } finally {
    on.disabled = false;
  }
}

function showTargets() {
  list.replaceChildren(
    ...targets.map((one, n) => {
      const out = make("button", { type: "button", class: "button small", "aria-label": `Take ${one} out` }, "Take out");
      out.addEventListener("click", () => {
        targets.splice(n, 1);
        showTargets();
      });
      return make("li", {}, one, out);
    }),
  );
}

async function add() {
  const text = name.value.trim();
  if (!text) return;
  suggestions.close();
  if (targets.some((one) => one.toLowerCase() === text.toLowerCase())) {
    says.textContent = `${text} is on the list already.`;
    return;
  }
  try {
    await ask("POST", "/api/begin/check", { part: "targets", answers: answers(), targets: [text] });
    targets.push(text);
    says.textContent = `${text} is on the list.`;
    name.value = "";
    showTargets();
  } catch (error) {
    says.textContent = error.message;
  }
  name.focus();
}

const suggestions = combo(name, document.getElementById("add-list"));
name.addEventListener("keydown", (event) => {
  if (event.key !== "Enter" || event.defaultPrevented) return;
  event.preventDefault();
  add();
});
form.querySelector("[data-add-name]").addEventListener("click", add);
form.addEventListener("submit", (event) => {
  event.preventDefault();
  step();
});
back.addEventListener("click", () => show(now - 1));
for (const box of form.querySelectorAll("[data-has]"))
  box.addEventListener("change", () => {
    for (const table of box.closest("[data-part]").querySelectorAll("[data-optional]")) table.classList.toggle("off", !box.checked);
  });
show(0);
