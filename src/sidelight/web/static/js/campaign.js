// The campaign: planned and played in the background; goals are tried out by dragging, and kept only when asked.

import { ask, make, sayProblems } from "./ask.js";
import { runJob } from "./jobs.js";
import { lookNow } from "./pictures.js";

const root = document.querySelector("[data-campaign]");
const one = (name) => root.querySelector(`[data-${name}]`);
const WAIT_MS = 600;
const percent = (share) => (share > 0.9949 && share < 1 ? ">99 %" : share > 0 && share < 0.005 ? "<1 %" : `${Math.round(share * 100)} %`);
const hours = (h) => `${(Math.round(h * 10) / 10).toString()} h`;
const words = new Intl.DateTimeFormat("en-GB", { day: "numeric", month: "short", year: "numeric", timeZone: "UTC" });
const day = (text) => (text ? words.format(new Date(`${text}T12:00:00Z`)) : "–");

let own = null; // the report for the notebook's own goals
let shown = null; // the report that is on the page
let name = ""; // of the job that gave it
let asking = 0;
let running = null;

function goalsAsked() {
  const goals = [];
  for (const row of root.querySelectorAll(".goal")) {
    const wanted = Number(row.querySelector("input[type=text]").value.replace(",", "."));
    if (wanted > 0 && wanted !== Number(row.dataset.own)) goals.push({ target: row.dataset.target, filter: row.dataset.filter, hours_h: wanted });
  }
  return goals;
}

async function play(goals, giveUp, place) {
  const mine = ++asking;
  if (running) await ask("DELETE", `/api/jobs/${running}`).catch(() => null);
  const question = { date: root.dataset.date, goals, give_up: giveUp };
  try {
    const begun = await ask("POST", "/api/jobs/campaign", question);
    running = begun.state === "running" ? begun.name : null;
    const answer = await runJob("campaign", question, place);
    if (mine !== asking) return null;
    running = null;
    if (answer === null) return null;
    name = begun.name;
    return answer.report;
  } catch (error) {
    if (mine === asking) sayProblems(one("says"), error);
    return null;
  }
}

// -- what is shown

function figure(picture, alt, caption) {
  const query = new URLSearchParams({ job: name }).toString();
  const at = (width) => `/pictures/${picture}.svg?${query}&width=${width}&look=${lookNow()}`;
  const hidden = () => make("span", { class: "hidden-words" }, `Save ${alt} as `);
  return make(
    "figure",
    { class: "picture", "data-picture": picture, "data-query": query },
    make("picture", {}, make("source", { media: "(max-width: 640px)", srcset: at("narrow") }), make("img", { src: at("wide"), alt })),
    make(
      "figcaption",
      {},
      make("span", {}, caption),
      make(
        "span",
        { class: "saving no-print" },
        make("span", { "aria-hidden": "true" }, "Save"),
        make("a", { class: "button small", "data-save": "svg", download: "", href: at("wide") }, hidden(), "SVG"),
        make("button", { type: "button", class: "button small", "data-save": "png" }, hidden(), "PNG"),
      ),
    ),
  );
}

function bar(share) {
  const inner = make("span");
  inner.style.width = `${Math.round(share * 100)}%`;
  return make("span", { class: "bar", "aria-hidden": "true" }, inner);
}

function oddsRow(target) {
  const right = { class: "right" };
  const error = target.standard_error_fraction * 100;
  return make(
    "tr",
    {},
    make("th", { scope: "row" }, target.target),
    make("td", right, hours(target.wanted_hours)),
    make("td", right, hours(target.collected_hours)),
    make("td", { class: "right", "data-csv": target.odds_fraction.toFixed(4) }, bar(target.odds_fraction), percent(target.odds_fraction)),
    make("td", right, error.toFixed(1)),
    make("td", {}, day(target.done_by_50_percent)),
    make("td", {}, day(target.done_by_90_percent)),
    make("td", {}, day(target.last_call)),
    make("td", right, hours(target.expected_hours)),
    make("td", right, hours(target.best_possible_hours)),
  );
}

function planRow(stay, zone) {
  const clock = new Intl.DateTimeFormat("en-GB", { timeZone: zone, hour: "2-digit", minute: "2-digit" });
  const at = (text) => clock.format(new Date(text));
  const right = { class: "right" };
  return make(
    "tr",
    {},
    make("th", { scope: "row" }, make("a", { href: `/night?date=${stay.date}` }, stay.date)),
    make("td", {}, at(stay.start_utc)),
    make("td", {}, at(stay.end_utc)),
    make("td", {}, stay.target, stay.reserve ? make("span", { class: "quiet" }, " in reserve") : ""),
    make("td", {}, stay.filters.join(" + ") || "–"),
    make("td", {}, stay.set_up || "–"),
    make("td", right, `${stay.hours.toFixed(1)} h`),
    make("td", right, `${stay.effective_hours.toFixed(1)} h`),
    make("td", right, percent(stay.usable_probability)),
  );
}

function changed(share) {
  const points = Math.round(share * 100);
  const sign = points > 0 ? "+" : points < 0 ? "−" : "±";
  return make("td", { class: `right${points > 0 ? " better" : ""}` }, `${sign}${Math.abs(points)}`);
}

function giveTable(report) {
  const names = report.targets.map((target) => target.target);
  const rows = report.giving_up.map((given) => {
    const by = new Map(given.others.map((other) => [other.target, other.change_fraction]));
    const cells = names.map((each) => (by.has(each) ? changed(by.get(each)) : make("td", { class: "right" }, "–")));
    return make("tr", {}, make("th", { scope: "row" }, `without ${given.target}`), ...cells);
  });
  const more = report.one_more_night;
  if (more?.weekday) {
    const by = new Map(more.targets.map((other) => [other.target, other.change_fraction]));
    rows.push(make("tr", {}, make("th", { scope: "row" }, `${more.weekday} evenings too`), ...names.map((each) => changed(by.get(each) ?? 0))));
  }
  const head = make("tr", {}, make("th", { scope: "col" }, "odds change by, in hundredths"), ...names.map((each) => make("th", { scope: "col", class: "right" }, each)));
  const csv = make("button", { type: "button", class: "button small", "data-csv": "give-table", "data-name": "what-would-change" }, "CSV");
  return [make("table", { id: "give-table" }, make("thead", {}, head), make("tbody", {}, ...rows)), make("div", { class: "tools no-print" }, csv)];
}

function showSkies(report) {
  const skies = report.other_skies;
  one("skies-place").hidden = skies.length === 0;
  if (!skies.length) return;
  const names = report.targets.map((target) => target.target);
  const right = { class: "right" };
  const head = (text) => make("th", { scope: "col", class: "right" }, text);
  one("skies-head").replaceChildren(make("tr", {}, make("th", { scope: "col" }, "chance of a usable night"), head("then"), ...names.map(head)));
  const signed = (points) => `${points < 0 ? "−" : "+"}${Math.abs(points)} points`;
  const own = { change_percent: 0, targets: report.targets, ...range(report.weather.month_probability) };
  one("skies").replaceChildren(
    ...[...skies, own].sort((a, b) => a.change_percent - b.change_percent).map((sky) => {
      const by = new Map(sky.targets.map((target) => [target.target, target.odds_fraction]));
      const [least, most] = [sky.least_probability, sky.most_probability].map((share) => Math.round(share * 100));
      return make(
        "tr",
        {},
        make("th", { scope: "row" }, sky.change_percent === 0 ? "as you gave it" : signed(sky.change_percent)),
        make("td", right, least === most ? `${least} %` : `${least} to ${most} %`),
        ...names.map((each) => make("td", right, by.has(each) ? percent(by.get(each)) : "–")),
      );
    }),
  );
}

/** The least and the most chance that a month has. */
function range(months) {
  return { least_probability: Math.min(...months), most_probability: Math.max(...months) };
}

function show(report) {
  shown = report;
  one("answer").hidden = false;
  one("says").replaceChildren();
  one("sentence").textContent = report.sentence;
  one("trying").hidden = goalsAsked().length === 0;
  one("pictures-plan").replaceChildren(figure("campaign", "The plan night by night with each target’s odds", `${report.usable_nights_count} nights are yours to use, ${Math.round(report.usable_hours)} dark hours.`));
  const played = report.weathers_count.toLocaleString("en-GB");
  one("pictures-odds").replaceChildren(figure("odds", "The odds of being done, over the calendar", `${played} weathers; the bands are two standard errors.`));
  for (const link of root.querySelectorAll("[data-file]")) link.href = `/files/campaign.${link.dataset.file}?job=${name}`;
  one("odds").replaceChildren(...report.targets.map(oddsRow));
  one("sentences").replaceChildren(...report.targets.map((target) => make("li", {}, target.sentence)));
  one("plan").replaceChildren(...report.plan.map((stay) => planRow(stay, report.time_zone)));
  one("prices").replaceChildren(...report.prices.map((line) => make("li", {}, line)));
  const gap = `In average weather the plan is within ${(report.gap_fraction * 100).toFixed(1)} % of the best there is.`;
  one("notes").replaceChildren(...[...report.notes, gap].map((line) => make("li", {}, line)));
  const give = one("give-place");
  give.hidden = report.giving_up.length === 0;
  one("give").hidden = !give.hidden;
  if (!give.hidden) give.replaceChildren(...giveTable(report));
  showSkies(report);
  oddsBesideGoals();
}

function oddsBesideGoals() {
  for (const row of root.querySelectorAll(".goal")) {
    const now = shown.targets.find((target) => target.target === row.dataset.target);
    const was = own.targets.find((target) => target.target === row.dataset.target);
    const place = row.querySelector(".odds");
    place.replaceChildren(percent(now.odds_fraction));
    if (Math.abs(now.odds_fraction - was.odds_fraction) >= 0.005) place.append(make("span", { class: "was" }, `was ${percent(was.odds_fraction)}`));
  }
}

// -- goals

function goalRow(target, goal) {
  const most = Math.max(40, Math.ceil((goal.wanted_hours * 2.5) / 10) * 10);
  const label = goal.filter ? `${target.target} ${goal.filter}` : target.target;
  const slide = make("input", { type: "range", min: 0.5, max: most, step: 0.5, "aria-label": `Hours wanted of ${label}` });
  const box = make("input", { type: "text", class: "tiny", inputmode: "decimal", "aria-label": `Hours wanted of ${label}, typed` });
  slide.value = String(goal.wanted_hours);
  box.value = String(goal.wanted_hours);
  const row = make(
    "div",
    { class: "goal", "data-target": target.target, "data-filter": goal.filter, "data-own": goal.wanted_hours },
    make("span", { class: "name" }, target.target, goal.filter ? make("span", { class: "filter" }, ` ${goal.filter}`) : ""),
    slide,
    make("span", { class: "with-unit" }, box, make("span", { class: "unit" }, "h")),
    make("span", { class: "odds" }),
  );
  slide.setAttribute("aria-valuetext", hours(goal.wanted_hours));
  slide.addEventListener("input", () => {
    box.value = slide.value;
    slide.setAttribute("aria-valuetext", hours(Number(slide.value)));
    differ(row);
  });
  box.addEventListener("input", () => {
    const value = Number(box.value.replace(",", "."));
    box.setAttribute("aria-invalid", String(!(value > 0 && value <= 10000)));
    if (value > 0) slide.value = String(value);
    differ(row);
  });
  return row;
}

let waiting = 0;

function differ(row) {
  const value = Number(row.querySelector("input[type=text]").value.replace(",", "."));
  row.toggleAttribute("data-differs", value > 0 && value !== Number(row.dataset.own));
  const some = goalsAsked().length > 0;
  one("keep").disabled = !some;
  one("back").disabled = !some;
  clearTimeout(waiting);
  waiting = setTimeout(again, WAIT_MS);
}

async function again() {
  if (root.querySelector("[aria-invalid=true]")) return;
  const report = await play(goalsAsked(), false, one("goals-working"));
  if (report) {
    show(report);
    const told = report.targets.map((target) => `${target.target} ${percent(target.odds_fraction)}`).join(", ");
    one("goals-says").replaceChildren(make("span", { class: "hidden-words" }, `Odds now: ${told}`));
  }
}

async function begin() {
  const report = await play([], false, one("working"));
  if (!report) {
    if (!one("says").firstChild) {
      const button = make("button", { type: "button", class: "button first" }, "Plan and play it");
      button.addEventListener("click", () => {
        button.remove();
        begin();
      });
      one("working").replaceChildren(button);
    }
    return;
  }
  own = report;
  one("goal-rows").replaceChildren(...report.targets.flatMap((target) => target.filters.map((goal) => goalRow(target, goal))));
  show(report);
}

if (one("answer")) {
  one("goals").addEventListener("submit", async (event) => {
    event.preventDefault();
    try {
      const kept = await ask("PUT", "/api/goals", { goals: goalsAsked() });
      one("goals-says").textContent = kept.sentence;
      location.reload();
    } catch (error) {
      sayProblems(one("goals-says"), error);
    }
  });
  one("back").addEventListener("click", () => {
    for (const row of root.querySelectorAll(".goal")) {
      for (const box of row.querySelectorAll("input")) box.value = row.dataset.own;
      row.querySelector("input[type=text]").removeAttribute("aria-invalid");
      row.removeAttribute("data-differs");
    }
    one("keep").disabled = true;
    one("back").disabled = true;
    again();
  });
  one("ask-give").addEventListener("click", async () => {
    const report = await play(goalsAsked(), true, one("give-working"));
    if (report) show(report);
  });
  await begin();
}
