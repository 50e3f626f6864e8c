// The skyline, drawn and edited point by point: by mouse, touch and keys, or as figures.

import { ask, make, sayProblems } from "./ask.js";
import { rememberOwnChange } from "./frame.js";
import { asElement, isNarrow, onWidth, pictureText, svgElement } from "./pictures.js";

const root = document.querySelector("[data-skyline]");
const place = root.querySelector(".place");
const body = root.querySelector("tbody");
const says = root.querySelector("[data-skyline-says]");
const wrong = root.querySelector("[data-skyline-wrong]");
const pointed = root.querySelector("[data-pointed]");
const STEP = 0.5;
const BIG_STEP = 5;
const LOWEST = -5;
const HIGHEST = 89.5;

let seen = null; // the server's skyline
let points = []; // {bearing, altitude} as the file counts bearings
let box = null;
let land = [];
let handles = null;
let chosen = null;

const round = (value) => Math.round(value * 10) / 10;
const wrap = (value) => ((value % 360) + 360) % 360;
const centre = () => (seen.southern ? 0 : 180);
const azimuthOf = (point) => wrap(point.bearing + seen.declination_deg);

function toX(azimuth) {
  const share = wrap(azimuth - centre() + 180) / 360;
  return box.left + share * box.wide;
}
const toY = (altitude) => box.top + box.high * (1 - altitude / 90);

async function draw() {
  const width = isNarrow() ? "narrow" : "wide";
  const svg = asElement(await pictureText(`/pictures/skyline.svg?date=${root.dataset.date}&width=${width}&live=true`));
  svg.setAttribute("data-live", "");
  svg.removeAttribute("role");
  svg.setAttribute("role", "group");
  const clip = svg.querySelector("#horizon-clip rect");
  const [left, top, wide, high] = ["x", "y", "width", "height"].map((name) => Number(clip.getAttribute(name)));
  box = { left, top, wide, high };
  land = [...svg.querySelectorAll("#horizon-land path")];
  handles = svgElement("g", {});
  svg.append(handles);
  svg.addEventListener("pointerdown", (event) => {
    if (event.target.closest(".point")) return;
    const at = angleOf(svg, event);
    if (!at) return;
    const point = { bearing: round(wrap(at.azimuth - seen.declination_deg)), altitude: round(at.altitude) };
    points.push(point);
    changed();
    focusOn(point);
    drag(svg, event, point);
    event.preventDefault();
  });
  place.replaceChildren(svg);
  follow();
}

function angleOf(svg, event) {
  const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());
  const x = (at.x - box.left) / box.wide;
  const y = 1 - (at.y - box.top) / box.high;
  if (x < -0.02 || x > 1.02 || y < -0.1 || y > 1.02) return null;
  return { azimuth: wrap(centre() - 180 + Math.min(0.9999, Math.max(0, x)) * 360), altitude: Math.min(HIGHEST, Math.max(LOWEST, y * 90)) };
}

function drag(svg, event, point) {
  svg.setPointerCapture(event.pointerId);
  const move = (next) => {
    const at = angleOf(svg, next);
    if (!at) return;
    point.bearing = round(wrap(at.azimuth - seen.declination_deg));
    point.altitude = round(at.altitude);
    changed();
  };
  const end = () => {
    svg.removeEventListener("pointermove", move);
    svg.removeEventListener("pointerup", end);
    svg.removeEventListener("pointercancel", end);
  };
  svg.addEventListener("pointermove", move);
  svg.addEventListener("pointerup", end);
  svg.addEventListener("pointercancel", end);
}

function focusOn(point) {
  handles.querySelector(`[data-id="${point.id}"]`)?.focus({ preventScroll: true });
}

let ids = 0;

function handleOf(point) {
  const group = svgElement("g", { class: "point", tabindex: "0", role: "slider", "data-id": point.id, "aria-valuemin": LOWEST, "aria-valuemax": 90 });
  group.append(
    svgElement("circle", { r: 13, fill: "transparent", stroke: "none", "stroke-width": 1.5 }),
    svgElement("path", { d: "M0 -6L6 0L0 6L-6 0Z", fill: "var(--overlay)", stroke: "var(--paper)", "stroke-width": 1.4 }),
  );
  group.addEventListener("pointerdown", (event) => {
    group.focus({ preventScroll: true });
    drag(group.ownerSVGElement, event, point);
    event.preventDefault();
  });
  group.addEventListener("focus", () => {
    chosen = point;
    tell();
  });
  group.addEventListener("keydown", (event) => key(event, point));
  return group;
}

function key(event, point) {
  const step = event.shiftKey ? BIG_STEP : STEP;
  const moves = { ArrowLeft: [-step, 0], ArrowRight: [step, 0], ArrowUp: [0, step], ArrowDown: [0, -step] };
  if (event.key in moves) {
    point.bearing = round(wrap(point.bearing + moves[event.key][0]));
    point.altitude = round(Math.min(HIGHEST, Math.max(LOWEST, point.altitude + moves[event.key][1])));
  } else if (event.key === "Delete" || event.key === "Backspace") {
    const sorted = order();
    const next = sorted[(sorted.indexOf(point) + 1) % sorted.length];
    points = points.filter((one) => one !== point);
    changed();
    focusOn(next);
    event.preventDefault();
    return;
  } else return;
  event.preventDefault();
  changed();
}

const order = () => [...points].sort((a, b) => azimuthOf(a) - azimuthOf(b));

function follow() {
  const known = new Map([...handles.children].map((one) => [Number(one.dataset.id), one]));
  for (const point of points) {
    point.id ??= ++ids;
    if (!known.has(point.id)) handles.append(handleOf(point));
    const handle = known.get(point.id) ?? handles.lastChild;
    known.delete(point.id);
    handle.setAttribute("transform", `translate(${toX(azimuthOf(point)).toFixed(1)} ${toY(point.altitude).toFixed(1)})`);
    handle.setAttribute("aria-label", `Skyline at bearing ${point.bearing}°`);
    handle.setAttribute("aria-valuenow", point.altitude);
    handle.setAttribute("aria-valuetext", `${point.altitude}° high at bearing ${point.bearing}°`);
  }
  for (const gone of known.values()) gone.remove();
  shore();
  tell();
}

function shore() {
  const sorted = order();
  if (!sorted.length || !land.length) return;
  const edge = [];
  for (const turn of [-360, 0, 360])
    for (const point of sorted) {
      const from = centre() - 180;
      edge.push([box.left + ((azimuthOf(point) + turn - from) / 360) * box.wide, toY(point.altitude)]);
    }
  const line = edge.map(([x, y]) => `${x.toFixed(1)} ${y.toFixed(1)}`).join("L");
  const foot = box.top + box.high + 40;
  land[0].setAttribute("d", `M${edge[0][0].toFixed(1)} ${foot}L${line}L${edge.at(-1)[0].toFixed(1)} ${foot}Z`);
  land[1].setAttribute("d", land[0].getAttribute("d"));
  land[2].setAttribute("d", `M${line}`);
}

function tell() {
  const words = chosen && points.includes(chosen) ? `Bearing ${chosen.bearing}°, ${chosen.altitude}° high. ` : "";
  pointed.textContent = `${words}${points.length} ${points.length === 1 ? "point" : "points"}.`;
}

function table() {
  body.replaceChildren(
    ...[...points].sort((a, b) => a.bearing - b.bearing).map((point) => {
      const cell = (name, label) => {
        const input = make("input", { type: "text", inputmode: "decimal", value: point[name], "aria-label": `${label} of the point at ${point.bearing}°` });
        input.addEventListener("change", () => {
          const value = Number(input.value.replace(",", "."));
          if (Number.isFinite(value) && input.value.trim() !== "") point[name] = value;
          changed(true);
        });
        return make("td", { "data-csv": String(point[name]) }, input);
      };
      const out = make("button", { type: "button", class: "button small", "aria-label": `Take out the point at ${point.bearing}°` }, "Take out");
      out.addEventListener("click", () => {
        points = points.filter((one) => one !== point);
        changed();
      });
      return make("tr", {}, cell("bearing", "Bearing"), cell("altitude", "Altitude"), make("td", { "data-no-csv": true }, out));
    }),
  );
}

function changed(keepTable = false) {
  says.textContent = "Not yet written.";
  follow();
  if (!keepTable && !body.contains(document.activeElement)) table();
}

async function read() {
  seen = await ask("GET", `/api/notebook/skyline?date=${root.dataset.date}`);
  points = seen.points_deg.map(([bearing, altitude]) => ({ bearing, altitude }));
  chosen = null;
  await draw();
  table();
}

root.querySelector("[data-write-skyline]").addEventListener("click", async () => {
  sayProblems(wrong, null);
  try {
    const pairs = points.map((point) => [point.bearing, point.altitude]);
    const answer = await ask("PUT", "/api/notebook/skyline", { points_deg: pairs, seen: seen.fingerprint });
    await rememberOwnChange();
    await read();
    says.textContent = answer.words;
  } catch (error) {
    sayProblems(wrong, error);
  }
});
root.querySelector("[data-undo-skyline]").addEventListener("click", async () => {
  await read();
  says.textContent = "";
});
root.querySelector("[data-add-point]").addEventListener("click", () => {
  points.push({ bearing: 0.5, altitude: 0 });
  changed();
});
document.addEventListener("sidelight:written", (event) => {
  if (event.detail === "site.toml" && says.textContent === "") read();
});
onWidth(draw);
read();
