// A name that is being typed, with suggestions from the catalogue.

import { ask, make } from "./ask.js";

/** Give an input its list of suggestions; onChoose is called with a name that was picked from it. */
export function combo(input, list, onChoose = () => {}) {
  let found = [];
  let chosen = -1;
  let asked = 0;

  function close() {
    list.hidden = true;
    input.setAttribute("aria-expanded", "false");
    input.removeAttribute("aria-activedescendant");
    chosen = -1;
  }

  function mark(n) {
    chosen = n;
    [...list.children].forEach((item, k) => item.setAttribute("aria-selected", String(k === n)));
    input.setAttribute("aria-activedescendant", list.children[n].id);
    list.children[n].scrollIntoView({ block: "nearest" });
  }

  function fill() {
    list.replaceChildren(
      ...found.map((one, n) =>
        make(
          "li",
          { role: "option", id: `${list.id}-${n}`, "aria-selected": "false" },
          make("span", {}, one.name),
          make("span", { class: "quiet" }, one.words),
        ),
      ),
    );
    list.hidden = found.length === 0;
    input.setAttribute("aria-expanded", String(found.length > 0));
    chosen = -1;
  }

  function pick(n) {
    input.value = found[n].name;
    onChoose(found[n].name);
    close();
  }

  input.addEventListener("input", async () => {
    const text = input.value.trim();
    const mine = ++asked;
    if (!text) {
      close();
      return;
    }
    const answer = await ask("GET", `/api/objects?text=${encodeURIComponent(text)}`).catch(() => ({ objects: [] }));
    if (mine !== asked) return;
    found = answer.objects;
    fill();
  });
  input.addEventListener("keydown", (event) => {
    if (list.hidden) return;
    if (event.key === "ArrowDown") mark((chosen + 1) % found.length);
    else if (event.key === "ArrowUp") mark((chosen + found.length - (chosen < 0 ? 0 : 1)) % found.length);
    else if (event.key === "Escape") close();
    else if (event.key === "Enter" && chosen >= 0) pick(chosen);
    else return;
    event.preventDefault();
  });
  list.addEventListener("pointerdown", (event) => {
    const item = event.target.closest("li");
    if (!item) return;
    event.preventDefault();
    pick([...list.children].indexOf(item));
  });
  input.addEventListener("blur", close);
  return {
    close: () => {
      asked += 1;
      close();
    },
  };
}
