// The notebook's forms: only what was changed is written, and what is refused stands beside its key.

import { Refused, ask, make } from "./ask.js";
import { rememberOwnChange } from "./frame.js";

/** What a key's inputs say, as it would be typed. */
export function typed(key) {
  const inputs = [...key.querySelectorAll("[data-path]")];
  const first = inputs[0];
  if (first.dataset.kind === "yes_no") {
    const said = String(first.checked);
    return first.dataset.was === "" && said === (first.dataset.usual || "false") ? "" : said;
  }
  if (first.dataset.kind === "choice") {
    const said = inputs.find((one) => one.checked)?.value ?? "";
    return first.dataset.was === "" && said === first.dataset.usual ? "" : said;
  }
  if (first.dataset.kind === "choices") {
    const said = inputs.filter((one) => one.checked).map((one) => one.value).join(", ");
    return first.dataset.was === "" && said === first.dataset.usual ? "" : said;
  }
  return first.value.trim();
}

const was = (key) => key.querySelector("[data-path]").dataset.was;

export function sayWrong(scope, problems, fallback) {
  for (const place of scope.querySelectorAll("[data-wrong]")) place.textContent = "";
  for (const input of scope.querySelectorAll("[aria-invalid]")) input.removeAttribute("aria-invalid");
  const others = [];
  let first = null;
  for (const one of problems) {
    const key = [...scope.querySelectorAll("[data-key]")].find(
      (place) => place.dataset.place === one.key || place.dataset.key === one.key || (one.file && place.dataset.key === `${one.file.replace(".toml", "")}.${one.key}`),
    );
    if (!key) {
      others.push(one.text);
      continue;
    }
    const words = [one.message, one.expected && `Expected: ${one.expected}.`, one.suggestion].filter(Boolean).join(" ");
    const place = key.querySelector("[data-wrong]");
    place.textContent = `${place.textContent} ${words}`.trim();
    for (const input of key.querySelectorAll("[data-path]")) {
      input.setAttribute("aria-invalid", "true");
      input.setAttribute("aria-errormessage", place.id);
    }
    first ??= key.querySelector("[data-path]");
  }
  fallback.textContent = others.join(" ") || (problems.length ? "Nothing was written; see beside the keys." : "");
  first?.focus();
}

const problemsOf = (error) => (error instanceof Refused ? error.problems : [{ text: String(error) }]);

function markChanged(form) {
  for (const key of form.querySelectorAll("[data-key]")) key.classList.toggle("changed", typed(key) !== was(key));
}

function changesOf(form) {
  const values = {};
  for (const key of form.querySelectorAll("[data-key]")) {
    if (key.closest(".off")) continue;
    const said = typed(key);
    if (said !== was(key)) values[key.dataset.key] = said;
  }
  return values;
}

async function write(form, file) {
  const says = form.querySelector("[data-says]");
  const values = changesOf(form);
  const gone = [...form.querySelectorAll("[data-has]")].filter((box) => !box.checked && box.defaultChecked);
  if (!Object.keys(values).length && !gone.length) {
    says.textContent = "Nothing was changed.";
    return;
  }
  try {
    let answer = null;
    for (const box of gone) {
      const query = new URLSearchParams({ file: file.dataset.file, table: box.dataset.has, seen: file.dataset.print });
      answer = await ask("DELETE", `/api/notebook/tables?${query}`);
      file.dataset.print = answer.fingerprint;
      box.defaultChecked = false;
    }
    if (Object.keys(values).length)
      answer = await ask("PATCH", "/api/notebook/values", { file: file.dataset.file, values, seen: file.dataset.print });
    file.dataset.print = answer.fingerprint;
    await rememberOwnChange();
    sayWrong(form, [], says);
    says.textContent = answer.words;
    for (const path of Object.keys(values))
      for (const input of form.querySelectorAll(`[data-path="${CSS.escape(path)}"]`)) input.dataset.was = values[path];
    for (const box of form.querySelectorAll("[data-has]")) box.defaultChecked = box.checked;
    markChanged(form);
    document.dispatchEvent(new CustomEvent("sidelight:written", { detail: file.dataset.file }));
  } catch (error) {
    sayWrong(form, problemsOf(error), says);
  }
}

function undo(form) {
  for (const key of form.querySelectorAll("[data-key]")) {
    for (const input of key.querySelectorAll("[data-path]")) {
      const said = input.dataset.was || input.dataset.usual || "";
      if (input.dataset.kind === "yes_no") input.checked = said === "true";
      else if (input.dataset.kind === "choice") input.checked = said === input.value;
      else if (input.dataset.kind === "choices") input.checked = said.split(", ").includes(input.value);
      else input.value = input.dataset.was;
    }
  }
  for (const box of form.querySelectorAll("[data-has]")) {
    box.checked = box.defaultChecked;
    box.dispatchEvent(new Event("change"));
  }
  sayWrong(form, [], form.querySelector("[data-says]"));
  markChanged(form);
}

async function addRow(form, file, table) {
  const values = {};
  for (const key of form.querySelectorAll("[data-key]")) {
    const said = typed(key);
    if (said) values[key.dataset.key.split(".").at(-1)] = said;
  }
  try {
    await ask("POST", "/api/notebook/rows", { file: file.dataset.file, table, values, seen: file.dataset.print });
    location.reload();
  } catch (error) {
    sayWrong(form, problemsOf(error), form.querySelector("[data-says]"));
  }
}

async function takeRow(form, file, table, number) {
  const query = new URLSearchParams({ file: file.dataset.file, table, number, seen: file.dataset.print });
  try {
    await ask("DELETE", `/api/notebook/rows?${query}`);
    location.reload();
  } catch (error) {
    sayWrong(form, problemsOf(error), form.querySelector("[data-says]"));
  }
}

/** A file that is named in the address is opened. */
function openNamed() {
  const named = location.hash && document.getElementById(decodeURIComponent(location.hash.slice(1)));
  if (named instanceof HTMLDetailsElement) {
    named.open = true;
    named.scrollIntoView();
  }
}

addEventListener("hashchange", openNamed);
openNamed();

for (const file of document.querySelectorAll("[data-file]")) {
  for (const form of file.querySelectorAll("form[data-values]")) {
    form.addEventListener("input", () => markChanged(form));
    form.addEventListener("submit", (event) => {
      event.preventDefault();
      write(form, file);
    });
    form.querySelector("[data-undo]").addEventListener("click", () => undo(form));
  }
  for (const box of file.querySelectorAll("[data-has]"))
    box.addEventListener("change", () => {
      for (const table of file.querySelectorAll(`[data-optional="${box.dataset.has}"]`)) table.classList.toggle("off", !box.checked);
    });
  for (const rows of file.querySelectorAll("[data-rows]")) {
    for (const form of rows.querySelectorAll("form[data-add]"))
      form.addEventListener("submit", (event) => {
        event.preventDefault();
        addRow(form, file, rows.dataset.rows);
      });
    for (const button of rows.querySelectorAll("[data-take]"))
      button.addEventListener("click", () => takeRow(button.form, file, rows.dataset.rows, button.closest("[data-row]").dataset.row));
  }
}
export { make };
