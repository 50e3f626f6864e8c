// The season: adding targets with suggestions, taking them off, nights as a table.

import { ask, make } from "./ask.js";

const combo = document.getElementById("add-name");
const list = document.getElementById("add-list");
const says = document.querySelector("[data-says]");
let found = [];
let chosen = -1;
let asked = 0;

function close() {
  list.hidden = true;
  combo.setAttribute("aria-expanded", "false");
  combo.removeAttribute("aria-activedescendant");
  chosen = -1;
}

function mark(n) {
  chosen = n;
  [...list.children].forEach((item, k) => item.setAttribute("aria-selected", String(k === n)));
  if (n >= 0) {
    combo.setAttribute("aria-activedescendant", list.children[n].id);
    list.children[n].scrollIntoView({ block: "nearest" });
  }
}

function fill() {
  list.replaceChildren(
    ...found.map((one, n) =>
      make(
        "li",
        { role: "option", id: `add-${n}`, "aria-selected": "false" },
        make("span", {}, one.name),
        make("span", { class: "quiet" }, one.words),
      ),
    ),
  );
  list.hidden = found.length === 0;
  combo.setAttribute("aria-expanded", String(found.length > 0));
  chosen = -1;
}

async function suggest() {
  const text = combo.value.trim();
  const mine = ++asked;
  if (text.length < 1) {
    close();
    return;
  }
  const answer = await ask("GET", `/api/objects?text=${encodeURIComponent(text)}`).catch(() => ({ objects: [] }));
  if (mine !== asked) return;
  found = answer.objects;
  fill();
}

async function add(name) {
  says.textContent = "Looking it up …";
  try {
    await ask("POST", "/api/targets", { name });
    location.reload();
  } catch (error) {
    says.textContent = error.message;
    combo.focus();
  }
}

combo.addEventListener("input", suggest);
combo.addEventListener("keydown", (event) => {
  if (list.hidden) return;
  const steps = { ArrowDown: 1, ArrowUp: -1 };
  if (event.key in steps) {
    event.preventDefault();
    mark((chosen + steps[event.key] + found.length + (chosen < 0 && event.key === "ArrowUp" ? 1 : 0)) % found.length);
  } else if (event.key === "Escape") {
    close();
  } else if (event.key === "Enter" && chosen >= 0) {
    event.preventDefault();
    combo.value = found[chosen].name;
    close();
  }
});
list.addEventListener("pointerdown", (event) => {
  const item = event.target.closest("li");
  if (!item) return;
  event.preventDefault();
  combo.value = found[[...list.children].indexOf(item)].name;
  close();
});
combo.addEventListener("blur", close);
combo.form.addEventListener("submit", (event) => {
  event.preventDefault();
  if (combo.value.trim()) add(combo.value.trim());
});

const sure = document.getElementById("sure");
for (const button of document.querySelectorAll("[data-remove]")) {
  button.addEventListener("click", () => {
    const name = button.dataset.remove;
    sure.querySelector("[data-words]").textContent = `Take ${name} off the list? Its lines in targets.toml go.`;
    sure.returnValue = "no";
    sure.onclose = async () => {
      if (sure.returnValue !== "yes") return;
      try {
        await ask("DELETE", `/api/targets?name=${encodeURIComponent(name)}`);
        location.reload();
      } catch (error) {
        says.textContent = error.message;
      }
    };
    sure.showModal();
  });
}

function nightsTable(place, target, zone) {
  const words = new Intl.DateTimeFormat("en-GB", { timeZone: zone, hour: "2-digit", minute: "2-digit" });
  const clock = (text) => words.format(new Date(text));
  const heads = ["evening", "usable", "hours", "before the flip", "after the flip", "highest", "Moon lit"];
  const id = `nights-${target.target.replace(/\W+/g, "-")}`;
  const rows = target.nights.map((night) =>
    make(
      "tr",
      {},
      make("th", { scope: "row" }, night.date),
      make("td", {}, night.windows.map((one) => `${clock(one.start_utc)}–${clock(one.end_utc)}`).join(", ") || "–"),
      ...[night.dark_hours, night.hours_east, night.hours_west].map((h) => make("td", { class: "right" }, h.toFixed(2))),
      make("td", { class: "right" }, night.max_altitude_deg === null ? "–" : `${night.max_altitude_deg.toFixed(0)}°`),
      make("td", { class: "right" }, `${Math.round(night.moon_illuminated_fraction * 100)} %`),
    ),
  );
  const head = make("tr", {}, ...heads.map((name, n) => make("th", { scope: "col", class: n > 1 ? "right" : "" }, name)));
  const table = make("table", { id }, make("thead", {}, head), make("tbody", {}, ...rows));
  const csv = make("button", { type: "button", class: "button small", "data-csv": id, "data-name": id }, "CSV");
  place.replaceChildren(make("div", { class: "tools" }, csv), make("div", { class: "scroll", tabindex: "0" }, table));
}

for (const more of document.querySelectorAll("[data-nights-of]")) {
  more.addEventListener("toggle", async () => {
    const place = more.querySelector("[data-nights-table]");
    if (!more.open || place.firstChild) return;
    place.textContent = "Reading …";
    const only = encodeURIComponent(more.dataset.nightsOf);
    const report = await ask("GET", `/api/season?date=${more.dataset.date}&only=${only}`);
    nightsTable(place, report.targets[0], report.time_zone);
  });
}
