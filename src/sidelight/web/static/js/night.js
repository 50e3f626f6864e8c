// The night: the clock runs along the plan; what is on, what comes next, which star guides.

import { ask } from "./ask.js";
import { LOOK_EVENT } from "./frame.js";
import { asElement, isNarrow, onWidth, pictureAddress, pictureText, svgElement } from "./pictures.js";

const watch = document.querySelector("[data-watch]");
const figure = document.querySelector(".night-chart");
const slider = document.getElementById("ahead");
const backToNow = document.querySelector("[data-back-to-now]");
const zone = document.body.dataset.zone;
const clockWords = new Intl.DateTimeFormat("en-GB", { timeZone: zone, hour: "2-digit", minute: "2-digit" });
const clock = (ms) => clockWords.format(new Date(ms));
const put = (name, text) => {
  const place = watch.querySelector(`[data-${name}]`);
  if (place.textContent !== text) place.textContent = text;
};

let phases = [];
let span = [0, 1];
let nights = null;
let line = null;
let ahead = false;

const duration = (ms) => {
  const minutes = Math.max(0, Math.round(ms / 60000));
  return minutes >= 60 ? `${Math.floor(minutes / 60)} h ${String(minutes % 60).padStart(2, "0")} min` : `${minutes} min`;
};

/** Cut the plan into phases at its flips: each has a start, an end, a target and a side. */
function phasesOf(report) {
  const found = [];
  for (const one of report.plan) {
    const from = Date.parse(one.start_utc);
    const until = Date.parse(one.end_utc);
    const flip = one.flip_utc ? Date.parse(one.flip_utc) : null;
    if (flip === null) found.push({ from, until, target: one.target, side: one.sides[0] });
    else {
      found.push({ from, until: flip, target: one.target, side: "east", flips: true });
      found.push({ from: flip, until, target: one.target, side: "west" });
    }
  }
  return found;
}

const sideWords = { east: "in the east", west: "in the west", any: "" };

function guideOf(target, side) {
  const seen = nights.targets.find((one) => one.target === target);
  const guide = seen?.guides.find((one) => one.side === side || one.side === "any");
  if (!guide) return ["–", ""];
  if (!guide.star) return ["none", "this set-up has no guide star here"];
  const [x, y] = guide.place_on_sensor_px;
  const signed = (value) => (value < 0 ? "−" : "+") + Math.abs(Math.round(value));
  return [`${signed(x)}, ${signed(y)} px`, `${guide.star.mag.toFixed(1)} mag; from the sensor’s middle, right and up`];
}

function tell(at) {
  const on = phases.find((one) => one.from <= at && at < one.until);
  const next = phases.find((one) => one.from > at);
  put("time", clock(at));
  const toStart = phases.length ? phases[0].from - at : 0;
  if (on) {
    put("now-what", `${on.target} ${sideWords[on.side]}`);
    put("now-more", `${on.flips ? "until the flip" : "until"} ${clock(on.until)}, ${duration(on.until - at)} from now`);
  } else if (!phases.length) {
    put("now-what", "Nothing is planned");
    put("now-more", "");
  } else if (toStart > 0) {
    put("now-what", toStart > 86400000 ? `In ${Math.round(toStart / 86400000)} days` : "Not yet dark enough");
    put("now-more", `the run begins at ${clock(phases[0].from)}${toStart > 86400000 ? "" : `, in ${duration(toStart)}`}`);
  } else {
    const over = at >= phases.at(-1).until;
    put("now-what", over ? "The run is over" : "A gap");
    put("now-more", over ? `since ${clock(phases.at(-1).until)}` : "nothing worth it is up");
  }
  if (next) {
    const flip = on && on.flips && next.target === on.target;
    put("next-what", flip ? `Flip: ${next.target}` : `${next.target} ${sideWords[next.side]}`);
    put("next-more", `at ${clock(next.from)}${next.from - at > 86400000 ? "" : `, in ${duration(next.from - at)}`}`);
  } else {
    put("next-what", phases.length && on ? "End of the run" : "–");
    put("next-more", on ? `at ${clock(on.until)}; then darks, flats, bed` : "");
  }
  const guided = on ?? next;
  const [what, more] = guided ? guideOf(guided.target, guided.side) : ["–", ""];
  put("guide-what", what);
  put("guide-more", on || !guided ? more : `for ${guided.target}: ${more}`);
  for (const row of document.querySelectorAll("#run-table tbody tr")) {
    const inside = Date.parse(row.dataset.from) <= at && at < Date.parse(row.dataset.until);
    row.toggleAttribute("aria-current", inside);
    if (inside) row.setAttribute("aria-current", "true");
  }
  const told = document.querySelector("[data-told]");
  const words = `Now ${watch.querySelector("[data-now-what]").textContent}.`;
  if (told.textContent !== words) told.textContent = words;
  drawNow(at);
}

function drawNow(at) {
  if (!line) return;
  const share = (at - span[0]) / (span[1] - span[0]);
  line.group.setAttribute("visibility", share >= 0 && share <= 1 ? "visible" : "hidden");
  line.group.setAttribute("transform", `translate(${(line.left + share * line.wide).toFixed(1)} 0)`);
}

async function drawChart() {
  const svg = asElement(await pictureText(pictureAddress(figure, isNarrow() ? "narrow" : "wide")));
  const box = svg.querySelector("#night-clip rect");
  const [left, top, wide, high] = ["x", "y", "width", "height"].map((name) => Number(box.getAttribute(name)));
  const group = svgElement(
    "g",
    { id: "night-now" },
    svgElement("line", { x1: 0, x2: 0, y1: top, y2: top + high, stroke: "var(--paper)", "stroke-width": 4 }),
    svgElement("line", { x1: 0, x2: 0, y1: top, y2: top + high, stroke: "var(--overlay)", "stroke-width": 2 }),
    svgElement("circle", { cx: 0, cy: top + high + 3, r: 5, fill: "var(--overlay)", stroke: "var(--paper)" }),
  );
  svg.append(group);
  line = { group, left, wide };
  figure.querySelector("picture, svg").replaceWith(svg);
  svg.addEventListener("click", (event) => {
    const place = svg.getBoundingClientRect();
    const x = ((event.clientX - place.left) / place.width) * svg.viewBox.baseVal.width;
    const share = Math.min(1, Math.max(0, (x - left) / wide));
    slider.value = String(Math.round(share * 1000));
    slider.dispatchEvent(new Event("input"));
  });
  tick();
}

function moment() {
  return ahead ? span[0] + (Number(slider.value) / 1000) * (span[1] - span[0]) : Date.now();
}

function tick() {
  const at = moment();
  if (!ahead) {
    const share = (at - span[0]) / (span[1] - span[0]);
    slider.value = String(Math.round(Math.min(1, Math.max(0, share)) * 1000));
  }
  slider.setAttribute("aria-valuetext", clock(at));
  put("when", ahead ? "looking ahead" : "now");
  tell(at);
}

async function begin() {
  const kept = watch.dataset.kept ? `&setup=${encodeURIComponent(watch.dataset.kept)}` : "";
  nights = await ask("GET", `/api/night?date=${watch.dataset.date}${kept}`);
  phases = phasesOf(nights);
  span = [Date.parse(watch.dataset.from), Date.parse(watch.dataset.until)];
  slider.addEventListener("input", () => {
    ahead = true;
    backToNow.hidden = false;
    tick();
  });
  backToNow.addEventListener("click", () => {
    ahead = false;
    backToNow.hidden = true;
    slider.focus();
    tick();
  });
  await drawChart();
  document.addEventListener(LOOK_EVENT, drawChart);
  onWidth(drawChart);
  setInterval(tick, 1000);
}

begin();
