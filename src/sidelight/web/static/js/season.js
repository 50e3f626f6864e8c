// The season: adding targets with suggestions, taking them off, nights as a table.

import { ask, make } from "./ask.js";
import { combo } from "./combo.js";

const input = document.getElementById("add-name");
const says = document.querySelector("[data-says]");
const suggestions = combo(input, document.getElementById("add-list"));

async function add(name) {
  says.textContent = "Looking it up …";
  try {
    await ask("POST", "/api/targets", { name });
    location.reload();
  } catch (error) {
    says.textContent = error.message;
    input.focus();
  }
}

input.form.addEventListener("submit", (event) => {
  event.preventDefault();
  suggestions.close();
  if (input.value.trim()) add(input.value.trim());
  else {
    says.textContent = "Type a name first.";
    input.focus();
  }
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
