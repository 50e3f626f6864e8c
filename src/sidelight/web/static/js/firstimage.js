// The first image: dropped or chosen, sent to this machine's server, judged; what it says can be kept.

import { ask, make, sayProblems } from "./ask.js";
import { isNarrow, lookNow, svgElement } from "./pictures.js";

const one = (name) => document.querySelector(`[data-${name}]`);
const SENT_WHOLE_BYTES = 64 * 1024 * 1024;
const BEGINNING_BYTES = 8 * 1024 * 1024;
const drop = one("drop");
const form = one("images");
const rows = one("image-rows");
const says = one("images-says");
const verdict = one("verdict");
const guided = rows.dataset.guided === "yes";
const images = [];

/** Send a file; of a very large one only the beginning, in which its header stands. */
async function send(file) {
  const query = new URLSearchParams({ name: file.name || "image.fits" });
  let body = file;
  if (file.size > SENT_WHOLE_BYTES && !/\.gz$/i.test(file.name)) {
    body = file.slice(0, BEGINNING_BYTES);
    query.set("whole_bytes", String(file.size));
  }
  let answer;
  try {
    answer = await fetch(`/api/images?${query}`, { method: "POST", headers: { "content-type": "application/octet-stream", accept: "application/json" }, body });
  } catch {
    throw new Error("The server does not answer. Is it still running?");
  }
  const data = await answer.json().catch(() => null);
  if (!answer.ok) throw new Error(data?.problems?.map((each) => each.text).join("\n") ?? "The file could not be sent; it may be too large.");
  return data;
}

function imageRow(image) {
  const side = make(
    "select",
    { "data-side": true, "aria-label": `Side of the meridian, ${image.name}` },
    make("option", { value: "" }, "by its time"),
    make("option", { value: "east" }, "in the east"),
    make("option", { value: "west" }, "in the west"),
  );
  const away = make("button", { type: "button", class: "button small", "aria-label": `Take ${image.name} away` }, "×");
  const box = (name, words) => make("input", { type: "text", inputmode: "decimal", [`data-${name}`]: true, "aria-label": `${words}, ${image.name}`, placeholder: words });
  const star = guided ? [make("td", {}, make("span", { class: "px" }, box("x", "x"), box("y", "y")))] : [];
  const made = make("tr", {}, make("th", { scope: "row" }, image.name), make("td", {}, side), ...star, make("td", {}, away));
  away.addEventListener("click", () => {
    images.splice(images.indexOf(image), 1);
    made.remove();
    form.hidden = images.length === 0;
    document.getElementById("image-file").focus();
  });
  image.row = made;
  return made;
}

async function take(files) {
  const given = [...files];
  if (given.length === 0) return;
  const wrong = [];
  for (const [n, file] of given.entries()) {
    says.textContent = `Reading ${file.name}${given.length > 1 ? `, ${n + 1} of ${given.length}` : ""} …`;
    try {
      const image = await send(file);
      images.push(image);
      rows.append(imageRow(image));
    } catch (error) {
      wrong.push(error.message);
    }
  }
  says.textContent = "";
  if (wrong.length) sayProblems(says, new Error(wrong.join("\n")));
  form.hidden = images.length === 0;
  if (images.length && !wrong.length) await judge(false);
}

function questionOf(learn) {
  const number = (box) => Number(box.value.trim().replace(",", ".").replace("−", "-"));
  const asked = images.map((image) => {
    const x = image.row.querySelector("[data-x]");
    const y = image.row.querySelector("[data-y]");
    const seen = x && (x.value.trim() || y.value.trim());
    if (seen && !(Number.isFinite(number(x)) && Number.isFinite(number(y)) && x.value.trim() && y.value.trim()))
      throw new Error(`The guide star of ${image.name} needs two numbers: pixels from the left and from the upper edge.`);
    return {
      image: image.image,
      side: image.row.querySelector("[data-side]").value || null,
      guide_star: seen ? { x_px: number(x), y_px: number(y) } : null,
    };
  });
  return {
    images: asked,
    setup: form.elements.setup?.value || null,
    bench_day: form.elements.bench_day.value.trim() || null,
    learn,
  };
}

async function judge(learn) {
  says.textContent = learn ? "Keeping it …" : "Comparing with the plan …";
  try {
    const answer = await ask("POST", "/api/check", questionOf(learn));
    says.textContent = "";
    show(answer);
  } catch (error) {
    says.textContent = "";
    sayProblems(says, error);
  }
}

/** An arrow round a disc: which way to turn, as seen by who reads the bench angles. */
function turnMark(turn) {
  const clockwise = turn.sense === "clockwise";
  const sweep = Math.min(300, Math.max(40, turn.by_deg * 6));
  const end = ((clockwise ? sweep : -sweep) - 90) * (Math.PI / 180);
  const [x, y] = [40 + 28 * Math.cos(end), 40 + 28 * Math.sin(end)];
  const along = end + (clockwise ? 1 : -1) * (Math.PI / 2);
  const [ux, uy] = [Math.cos(along), Math.sin(along)];
  const head = `M${x + 9 * ux} ${y + 9 * uy}L${x - 7 * uy} ${y + 7 * ux}L${x + 7 * uy} ${y - 7 * ux}Z`;
  const arc = `M40 12A28 28 0 ${sweep > 180 ? 1 : 0} ${clockwise ? 1 : 0} ${x} ${y}`;
  return svgElement(
    "svg",
    { viewBox: "0 0 80 80", "aria-hidden": "true" },
    svgElement("circle", { cx: 40, cy: 40, r: 17, fill: "none", stroke: "var(--soft-ink)", "stroke-width": 1.4 }),
    svgElement("line", { x1: 40, y1: 27, x2: 40, y2: 6, stroke: "var(--soft-ink)", "stroke-width": 1.2 }),
    svgElement("path", { d: arc, fill: "none", stroke: "var(--overlay)", "stroke-width": 4 }),
    svgElement("path", { d: head, fill: "var(--overlay)" }),
  );
}

const HEADS = { leave: "Leave it", turn: "Turn it", better_turned: "Better turn it" };
const signed = (value, digits, unit) => `${value >= 0 ? "+" : "−"}${Math.abs(value).toFixed(digits)}${unit}`;
const spread = (error, digits, unit) => (error === null ? "" : ` ± ${error.toFixed(digits)}${unit}`);
const round = (value) => `${((Math.round((((value % 360) + 360) % 360) * 10) / 10) % 360).toFixed(1)}°`;

function figure(label, words) {
  return make("div", {}, make("dt", {}, label), make("dd", {}, words));
}

function figures(report) {
  const list = [
    figure("camera angle", round(report.camera_angle_deg)),
    figure("planned", round(report.planned_camera_angle_deg)),
    figure("off by", `${signed(report.difference_deg, 2, "°")}${spread(report.difference_error_deg, 2, "°")}`),
    figure("slack now, planned", `${slack(report.slack_deg)}, ${slack(report.planned_slack_deg)}`),
    figure("gauge to sky", `${signed(report.gauge_to_sky_deg, 1, "°")}${spread(report.gauge_to_sky_error_deg, 1, "°")}`),
    figure("focal length", `${report.focal_length_mm.toFixed(1)} mm`),
  ];
  if (report.flip_deg !== null) list.push(figure("west less east", `${signed(report.flip_deg, 2, "°")}${spread(report.flip_error_deg, 2, "°")}`));
  if (report.cone_arcmin !== null) list.push(figure("cone error", `${signed(report.cone_arcmin, 1, "′")}${spread(report.cone_error_arcmin, 1, "′")}`));
  if (report.stem) {
    list.push(figure("stem radius", `${report.stem.stem_radius_mm.toFixed(2)} mm${spread(report.stem.stem_radius_error_mm, 2, " mm")}`));
    list.push(figure("guider angle", round(report.stem.guider_angle_deg)));
  }
  return make("dl", { class: "figures" }, ...list);
}

const slack = (value) => (value >= 180 ? "no limit" : `${value.toFixed(1)}°`);

function places(report) {
  if (!report.places.length) return [];
  const head = ["target", "side", "guide star", "on the sensor, px", "slack", "planned", "frame", ""];
  const body = report.places.map((place) => {
    const px = place.place_on_sensor_px;
    const last = place.lost ? "lost" : place.needed ? "" : "not needed";
    return make(
      "tr",
      { "data-lost": place.lost },
      make("th", { scope: "row" }, place.target),
      make("td", {}, { east: "before the flip", west: "after the flip" }[place.side] ?? "all night"),
      make("td", {}, place.star ? `${place.star.mag.toFixed(1)} mag` : "none"),
      make("td", { class: "right" }, px ? `${signed(px[0], 0, "")}, ${signed(px[1], 0, "")}` : "–"),
      make("td", { class: "right" }, slack(place.slack_deg)),
      make("td", { class: "right" }, slack(place.planned_slack_deg)),
      make("td", {}, place.framed ? "whole" : "cut off"),
      make("td", {}, last),
    );
  });
  const heads = head.map((name, n) => make("th", { scope: "col", class: n > 2 && n < 6 ? "right" : "" }, name));
  const table = make("table", { id: "now-table" }, make("thead", {}, make("tr", {}, ...heads)), make("tbody", {}, ...body));
  const csv = make("button", { type: "button", class: "button small", "data-csv": "now-table", "data-name": "as-it-now-stands" }, "CSV");
  return [
    make("h3", { id: "now-h" }, "As it now stands"),
    make("div", { class: "scroll", tabindex: "0", role: "region", "aria-labelledby": "now-h" }, table),
    make("div", { class: "tools no-print" }, csv),
  ];
}

function imagesTable(report) {
  const head = ["image", "target", "side", "camera", "expected", "off", "″ a pixel", "focal length", "mirrored"];
  const body = report.images.map((image) =>
    make(
      "tr",
      {},
      make("th", { scope: "row" }, image.file),
      ...[
        image.target ?? "–",
        image.side,
        round(image.camera_angle_deg),
        round(image.expected_deg),
        signed(image.difference_deg, 2, "°"),
        image.scale_arcsec_per_px.toFixed(4),
        `${image.focal_length_mm.toFixed(1)} mm`,
        image.mirrored ? "yes" : "no",
      ].map((words, n) => make("td", { class: n > 1 && n < 7 ? "right" : "" }, words)),
    ),
  );
  const heads = head.map((name, n) => make("th", { scope: "col", class: n > 2 && n < 8 ? "right" : "" }, name));
  const table = make("table", { id: "solved-table" }, make("thead", {}, make("tr", {}, ...heads)), make("tbody", {}, ...body));
  const csv = make("button", { type: "button", class: "button small", "data-csv": "solved-table", "data-name": "solved-images" }, "CSV");
  return [
    make("h3", { id: "solved-h" }, "What the images show"),
    make("div", { class: "scroll", tabindex: "0", role: "region", "aria-labelledby": "solved-h" }, table),
    make("div", { class: "tools no-print" }, csv),
  ];
}

/** A picture as the templates set it, so that the display's switch and the save buttons find it. */
function picture(name, query, alt, caption, shown = "wide") {
  const at = (width) => `/pictures/${name}.svg?${query}&width=${width}&look=${lookNow()}`;
  const source = make("source", { media: "(max-width: 640px)", srcset: at("narrow") });
  const frame = make("picture", {}, source, make("img", { src: at(shown), alt }));
  const words = make("span", { class: "hidden-words" }, `Save ${alt} as `);
  const link = make("a", { class: "button small", "data-save": "svg", download: "", href: at("wide") }, words, "SVG");
  const png = make("button", { type: "button", class: "button small", "data-save": "png" }, words.cloneNode(true), "PNG");
  const saving = make("span", { class: "saving no-print" }, make("span", { "aria-hidden": "true" }, "Save"), link, png);
  return make("figure", { class: "picture", "data-picture": name, "data-query": query, "data-width": shown, "data-name": alt }, frame, make("figcaption", {}, make("span", {}, caption), saving));
}

function pictures(answer) {
  const check = new URLSearchParams({ check: answer.check });
  const made = [];
  if (answer.guided) made.push(picture("now-dial", check, "The dial as the guider now stands", "The needle is where the guider stands, not where it was to be."));
  const fields = answer.pictured.map((target) => {
    const query = new URLSearchParams({ check: answer.check, target });
    return picture("now-field", query, `The field of ${target} as it now stands`, target, "narrow");
  });
  return [...made, make("div", { class: "now-fields" }, ...fields)];
}

function keeping(report) {
  if (report.learned_in) return make("p", { class: "remark" }, "Kept in learned.toml with its date; the bench uses it from now on.");
  const keep = make("button", { type: "button", class: "button first" }, "Keep what they say");
  keep.addEventListener("click", () => judge(true));
  const words = make("span", { class: "quiet" }, "Nothing is written until then. The next bench day goes by it.");
  return make("div", { class: "buttons no-print" }, keep, words);
}

function show(answer) {
  const report = answer.report;
  const turns = report.turns.filter((turn) => turn.sense !== "none");
  const turnList = make(
    "ul",
    { class: "turn-list" },
    ...turns.map((turn) =>
      make("li", {}, turnMark(turn), make("div", {}, make("strong", {}, `${turn.by_deg.toFixed(1)}° ${turn.sense}`), turn.part)),
    ),
  );
  const notes = [...report.images.flatMap((image) => image.notes), ...report.notes];
  const told = [
    make("h2", {}, HEADS[report.verdict] ?? "What they say"),
    make("p", { class: "lead" }, report.sentence),
    ...(turns.length ? [make("p", { class: "quiet" }, report.view), turnList] : []),
    figures(report),
    keeping(report),
    ...places(report),
    ...pictures(answer),
    ...imagesTable(report),
  ];
  if (report.gauge_to_sky_words) told.push(make("p", { class: "quiet" }, report.gauge_to_sky_words));
  if (notes.length) told.push(make("h3", {}, "Notes"), make("ul", {}, ...notes.map((note) => make("li", {}, note))));
  told.push(
    make("section", { class: "caution" }, make("h2", {}, "Take care"), make("ul", {}, ...report.cautions.map((words) => make("li", {}, words)))),
  );
  verdict.replaceChildren(make("div", { class: "says" }, ...told));
  verdict.hidden = false;
  verdict.focus({ preventScroll: true });
  verdict.scrollIntoView({ behavior: isNarrow() ? "auto" : "smooth", block: "start" });
}

drop.addEventListener("dragover", (event) => {
  event.preventDefault();
  drop.dataset.over = "";
});
drop.addEventListener("dragleave", () => delete drop.dataset.over);
drop.addEventListener("drop", (event) => {
  event.preventDefault();
  delete drop.dataset.over;
  take(event.dataTransfer.files);
});
// a file that misses the box must not make the browser leave the page
for (const kind of ["dragover", "drop"]) window.addEventListener(kind, (event) => event.preventDefault());
document.getElementById("image-file").addEventListener("change", (event) => {
  take(event.target.files);
});
form.addEventListener("submit", (event) => {
  event.preventDefault();
  judge(false);
});
