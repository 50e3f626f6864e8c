// The set-up: the dial in the hand. Everything follows at once; only a new question goes to the server.

import { Refused, ask, make, sayProblems } from "./ask.js";
import { rememberOwnChange } from "./frame.js";
import { ROUNDING_DEG, evaluate, prepare, total, wrap180, wrap360 } from "./geometry.js";
import { Dial, angleWords, slackShort } from "./dial.js";
import { Field } from "./fields.js";
import { runJob } from "./jobs.js";
import { isNarrow, onWidth } from "./pictures.js";

const desk = document.querySelector("[data-desk]");
const $ = (name) => desk.querySelector(`[data-${name}]`);
const form = document.getElementById("conditions");

let data = null; // the server's answer
let ready = []; // each target prepared at its pointing
let angles = { camera: [], stem: null };
let chosen = 0; // whose camera angle is turned, with a rotator
let seen = null;
let fields = [];
let frameWanted = false;
const dial = new Dial(document.querySelector("[data-dial]"), turnTo);

const rig = () => data.dial.rig;
const guiderOf = (n) => (angles.stem === null ? null : wrap360(angles.camera[n] + angles.stem));
const pose = () => ({ camera: angles.camera[chosen] ?? 0, guider: guiderOf(chosen), stem: angles.stem });
const turning = () => desk.querySelector("input[name=turning]:checked")?.value ?? "guider";

/** Bring a handle to an angle; what turns with it is what is clamped to it. */
function turnTo(handle, angle) {
  if (!ready.length) return;
  const now = handle === "camera" ? angles.camera[chosen] : guiderOf(chosen);
  const by = wrap180(Math.round(wrap360(angle) * 100) / 100 - now);
  const all = (change) => {
    angles.camera = angles.camera.map((value, n) => (rig().rotator && n !== chosen ? value : wrap360(value + change)));
  };
  if (turning() === "both" || angles.stem === null) all(by);
  else if (handle === "guider") angles.stem = wrap180(angles.stem + by);
  else {
    all(by);
    if (!rig().rotator) angles.stem = wrap180(angles.stem - by);
  }
  show();
}

function show() {
  if (frameWanted) return;
  frameWanted = true;
  requestAnimationFrame(() => {
    frameWanted = false;
    follow();
  });
}

/** Everything that follows the angles. */
function follow() {
  seen = evaluate(ready, rig(), angles);
  dial.turn(pose(), seen, guiderOf);
  seen.targets.forEach((target, n) => fields[n]?.turn(target, seen.places.filter((one) => one.index === n)));
  readout();
  ringTable();
  fieldWords();
}

const put = (place, text) => {
  if (place && place.textContent !== text) place.textContent = text;
};

function readout() {
  const { camera, guider, stem } = pose();
  for (const [name, value] of [["camera", camera], ["guider", guider]]) {
    const input = desk.querySelector(`input[data-angle=${name}]`);
    if (input && document.activeElement !== input && value !== null) input.value = (Math.round(wrap360(value) * 10) / 10 % 360).toFixed(1);
  }
  put($("stem"), stem === null ? "–" : `${wrap180(stem).toFixed(1).replace("-", "−")}°`);
  put($("served"), seen.needed ? `${seen.served} of ${seen.needed}` : `${seen.framed} of ${seen.frames}`);
  put($("slack"), slackShort(seen.slack));
  put($("frame-slack"), seen.framed < seen.frames ? `${seen.frames - seen.framed} cut off` : slackShort(seen.frameSlack));
  put($("shadow-slack"), seen.shadowSlack === 0 ? "in shadow" : slackShort(seen.shadowSlack));
  const verdict = seen.recommended
    ? "Serves everything, with room for error."
    : seen.complete
      ? `Serves everything, but with less than the ${rig().tolerance_deg}° of slack you want.`
      : "Does not serve everything.";
  put($("verdict"), verdict);
  desk.dataset.state = seen.recommended ? "good" : seen.complete ? "tight" : "lacking";
}

const sideWords = { east: "in the east", west: "in the west", any: "either side" };

function ringTable() {
  if (!tableSeen) return;
  const rows = $("rings").rows;
  seen.places.forEach((place, n) => {
    const row = rows[n];
    const cells = row.cells;
    put(cells[4], place.star === null ? "none" : `${place.mag.toFixed(1)} mag`);
    put(cells[5], place.px ? place.px.map((value) => (value < 0 ? "−" : "+") + Math.abs(Math.round(value))).join(", ") : "–");
    put(cells[6], place.star === null ? "no star" : slackShort(place.slack));
    const state = !place.needed ? "idle" : place.star === null ? "dark" : place.slack < rig().tolerance_deg - ROUNDING_DEG ? "tight" : "lit";
    if (row.dataset.state !== state) row.dataset.state = state;
  });
}

function fieldWords() {
  seen.targets.forEach((target, n) => {
    if (!fields[n]?.visible) return;
    const words = document.querySelector(`[data-field-words="${n}"]`);
    const frame = target.waived ? "larger than the frame" : target.framed ? "in the frame" : "cut off";
    const stars = seen.places
      .filter((one) => one.index === n)
      .map((one) => `${{ east: "E", west: "W", any: "star" }[one.side]} ${one.star === null ? "none" : slackShort(one.slack)}`);
    put(words, [frame, ...stars].join(" · "));
  });
}

/** Lay out all that changes with the question or the pointings: rings, fields, tables. */
function lay() {
  const layout = isNarrow() ? data.narrow : data.wide;
  dial.draw(layout, ready, rig());
  $("rings").replaceChildren(
    ...ready.flatMap((one, n) =>
      one.rings.map((ring) =>
        make(
          "tr",
          {},
          make("th", { scope: "row" }, `${n + 1}  ${one.target.target}`),
          make("td", {}, sideWords[ring.side]),
          make("td", { "data-csv": ring.reason, "data-label": "needed" }, ring.needed ? "yes" : "no"),
          make("td", { class: "right", "data-label": "lit" }, `${(total(ring.lit) / 3.6).toFixed(0)} %`),
          make("td", { class: "right", "data-label": "star" }),
          make("td", { class: "right", "data-label": "px" }),
          make("td", { class: "right", "data-label": "slack" }),
        ),
      ),
    ),
  );
  const place = document.querySelector("[data-fields]");
  fields = [];
  watcher.disconnect();
  place.replaceChildren(
    ...ready.map((one, n) => {
      const frame = make("div", { class: "map" });
      const figure = make(
        "figure",
        { class: "picture field", "data-picture": "field", "data-name": `field-${one.target.target}` },
        make("h3", {}, `${n + 1}  ${one.target.target}`),
        frame,
        make("figcaption", {}, make("span", { "data-field-words": n }), savers(`the field of ${one.target.target}`)),
      );
      fields.push(new Field(frame, data.field, one, rig()));
      frame.dataset.number = n;
      watcher.observe(frame);
      return figure;
    }),
  );
  follow();
}

function savers(name) {
  const button = (kind) =>
    make("button", { type: "button", class: "button small", "data-save": kind }, make("span", { class: "hidden-words" }, `Save ${name} as `), kind.toUpperCase());
  return make("span", { class: "saving" }, button("svg"), button("png"));
}

/** A field that nobody sees need not be turned. */
const watcher = new IntersectionObserver((entries) => {
  for (const entry of entries) {
    const n = Number(entry.target.dataset.number);
    if (!fields[n]) continue;
    fields[n].visible = entry.isIntersecting;
    if (!entry.isIntersecting || !seen) continue;
    fields[n].turn(seen.targets[n], seen.places.filter((one) => one.index === n));
    fieldWords();
  }
}, { rootMargin: "100px" });

/** The same for the table of rings. */
let tableSeen = true;
new IntersectionObserver((entries) => {
  tableSeen = entries.at(-1).isIntersecting;
  if (tableSeen && seen) ringTable();
}).observe($("rings"));

/** Take a set-up in the hand: its angles and its pointings. */
function jump(setup) {
  const poses = data.dial.targets.map((target) => setup?.poses.find((one) => one.target === target.target));
  const first = setup?.poses[0] ?? { camera_angle_deg: 0, guider_angle_deg: 0 };
  const moved = poses.map((one, n) => one ?? { ...data.dial.targets[n], ...angleOf(first) });
  const same = ready.length === moved.length && ready.every((one, n) => one.target === data.dial.targets[n] && one.pose.ra_deg === moved[n].ra_deg && one.pose.dec_deg === moved[n].dec_deg);
  if (!same) ready = data.dial.targets.map((target, n) => prepare(target, moved[n], rig()));
  angles = {
    camera: moved.map((one) => one.camera_angle_deg),
    stem: rig().usable ? wrap180((first.guider_angle_deg ?? first.camera_angle_deg) - first.camera_angle_deg) : null,
  };
  if (same) show();
  else lay();
}

const angleOf = (one) => ({ camera_angle_deg: one.camera_angle_deg, guider_angle_deg: one.guider_angle_deg });

const ORDINALS = ["Best", "Second", "Third", "Fourth", "Fifth", "Sixth"];

/** What a set-up is called here: the found ones by their place, the kept ones by their own name. */
function nameOf(setup) {
  if (setup.kind === "kept") return setup.name;
  const place = data.dial.setups.filter((one) => one.kind !== "kept").indexOf(setup);
  return ORDINALS[place] ?? `Number ${place + 1}`;
}

function jumpButtons() {
  const buttons = data.dial.setups.map((setup) => {
    const words = seenAt(setup);
    const thing = words.needed ? "rings" : "framed";
    const state = words.complete ? `slack ${slackShort(words.slack)}` : words.needed ? `${words.served} of ${words.needed} ${thing}` : `${words.framed} of ${words.frames} ${thing}`;
    const button = make(
      "button",
      { type: "button", class: setup.kind === "best" ? "button first" : "button", "aria-description": setup.note },
      `${nameOf(setup)}: `,
      make("span", { class: "quiet-in" }, state),
    );
    button.addEventListener("click", () => {
      jump(setup);
      $("jumped").textContent = `${nameOf(setup)} is in the hand${setup.note ? `: ${setup.note}` : ""}.`.replace(/\.\.$/, ".");
    });
    return button;
  });
  $("jumps").replaceChildren(...buttons);
}

/** What a set-up would serve in these nights, worked out here. */
function seenAt(setup) {
  const first = setup.poses[0];
  if (!first) return { served: 0, needed: 0, slack: 0, complete: false };
  const at = data.dial.targets.map((target) => setup.poses.find((one) => one.target === target.target) ?? { ...target, ...angleOf(first) });
  const stood = data.dial.targets.map((target, n) => prepare(target, at[n], rig()));
  const stem = rig().usable ? wrap180((first.guider_angle_deg ?? 0) - first.camera_angle_deg) : null;
  return { ...evaluate(stood, rig(), { camera: at.map((one) => one.camera_angle_deg), stem }), stem, camera: first.camera_angle_deg, guider: first.guider_angle_deg };
}

function compareTable() {
  const rows = data.dial.setups.map((setup) => {
    const words = seenAt(setup);
    const doing = make("td", { "data-no-csv": true, "data-label": "" });
    if (setup.kind === "kept") doing.append(...keptButtons(setup));
    return make(
      "tr",
      setup.in_use ? { "aria-current": "true" } : {},
      make("th", { scope: "row" }, nameOf(setup), setup.in_use ? make("span", { class: "quiet" }, " on the telescope") : ""),
      make("td", { class: "right", "data-label": "camera" }, rig().rotator ? "each its own" : angleWords(words.camera ?? 0)),
      make("td", { class: "right", "data-label": "guider" }, words.guider === null || words.guider === undefined ? "–" : angleWords(words.guider)),
      make("td", { class: "right", "data-label": "stem" }, words.stem === null ? "–" : `${words.stem.toFixed(1)}°`),
      make("td", { class: "right", "data-label": "served" }, words.needed ? `${words.served} of ${words.needed}` : `${words.framed} of ${words.frames}`),
      make("td", { class: "right", "data-label": "slack" }, slackShort(words.slack)),
      make("td", { class: "right", "data-label": "frame slack" }, slackShort(words.frameSlack)),
      make("td", { class: "right", "data-label": "faintest star" }, words.faintest === null || words.faintest === undefined ? "–" : words.faintest.toFixed(1)),
      make("td", { "data-label": "" }, [setup.kept_on, setup.note].filter(Boolean).join(", ")),
      doing,
    );
  });
  $("compare").replaceChildren(...rows);
}

function keptButtons(setup) {
  const use = make("button", { type: "button", class: "button small" }, "Put on the telescope");
  use.disabled = setup.in_use;
  use.addEventListener("click", () => change("PUT", `/api/setups/in-use?name=${encodeURIComponent(setup.name)}`));
  const go = make("button", { type: "button", class: "button small", "aria-label": `Let ${setup.name} go` }, "Let go");
  go.addEventListener("click", () => change("DELETE", `/api/setups?name=${encodeURIComponent(setup.name)}`));
  return [use, " ", go];
}

async function change(method, path, body) {
  try {
    await done(await ask(method, path, body));
  } catch (error) {
    sayProblems($("kept-says"), error);
  }
}

async function done(answer) {
  $("kept-says").textContent = answer.words;
  await rememberOwnChange();
  await readAgain();
}

/** Keep angles; a name that stands for others already gives way only when the person says so. */
async function keep(turned) {
  try {
    await done(await ask("POST", "/api/setups", turned));
  } catch (error) {
    const taken = data.dial.setups.some((one) => one.kind === "kept" && one.name.toLowerCase() === turned.name.toLowerCase());
    if (!taken || turned.replacing || !(error instanceof Refused) || error.problems.length > 1) {
      sayProblems($("kept-says"), error);
      return;
    }
    const sure = document.getElementById("taken");
    sure.querySelector("p").textContent = error.problems[0].message;
    sure.returnValue = "other";
    sure.onclose = () => {
      if (sure.returnValue === "replace") keep({ ...turned, replacing: true });
      else $("keep-form").elements.name.select();
    };
    sure.showModal();
  }
}

/** Read the kept set-ups again without losing what is in the hand. */
async function readAgain() {
  const fresh = await ask("GET", `/api/dial?date=${desk.dataset.date}&nights=${desk.dataset.nights}`);
  data.dial.setups = [...data.dial.setups.filter((one) => one.kind !== "kept"), ...fresh.dial.setups.filter((one) => one.kind === "kept")];
  jumpButtons();
  compareTable();
}

function take(answer) {
  data = answer;
  ready = [];
  chosen = 0;
  $("sentence").textContent = data.dial.sentence;
  const list = (name, lines) => {
    $(name).replaceChildren(...lines.map((line) => make("li", {}, line)));
    $(name).closest("section").hidden = lines.length === 0;
  };
  list("blocked", data.dial.blocked);
  list("help", data.dial.help);
  list("remarks", data.dial.remarks);
  $("share").textContent = `${(data.dial.share_of_angles * 100).toFixed(1)} %`;
  if (!data.dial.targets.length) return;
  const kept = data.dial.setups.find((one) => one.in_use);
  jump(kept && !asked() ? kept : data.dial.setups[0]);
  jumpButtons();
  compareTable();
  whoTurns();
}

/** With a rotator each target has its own camera angle: choose whose is in the hand. */
function whoTurns() {
  const place = $("who");
  place.hidden = !rig().rotator;
  if (!rig().rotator) return;
  const choices = data.dial.targets.map((target, n) => {
    const input = make("input", { type: "radio", name: "who", value: n });
    input.checked = n === chosen;
    input.addEventListener("change", () => {
      chosen = n;
      show();
    });
    return make("label", { class: "choice" }, input, target.target);
  });
  place.replaceChildren(make("legend", {}, "Rotator at"), ...choices);
}

const asked = () => {
  const question = questionOf();
  if (question.refuse.length > 0) return true;
  return question.camera_angle_deg !== undefined || question.grant_shift_arcmin !== undefined || question.leave_out.length > 0 || question.stem_offset_deg !== undefined;
};

function questionOf() {
  const figure = (name) => {
    const text = form.elements[name]?.value.trim().replace(",", ".") ?? "";
    return text === "" ? undefined : Number.isNaN(Number(text)) ? text : Number(text);
  };
  return {
    date: desk.dataset.date,
    nights: Number(desk.dataset.nights),
    camera_angle_deg: figure("camera_angle_deg"),
    stem_offset_deg: figure("stem_offset_deg"),
    grant_shift_arcmin: figure("grant_shift_arcmin"),
    leave_out: [...form.querySelectorAll("input[name=leave_out]:checked")].map((one) => one.value),
    refuse: [...form.querySelectorAll("input[name=refuse]:checked")].map((one) => one.value),
  };
}

async function solve(event) {
  event?.preventDefault();
  const button = form.querySelector("[data-solve]");
  button.disabled = true;
  sayProblems($("solve-says"), null);
  try {
    const answer = await runJob("dial", questionOf(), $("working"));
    if (answer) take(answer);
    else $("solve-says").textContent = "Stopped; the dial is as it was.";
  } catch (error) {
    sayProblems($("solve-says"), error);
  } finally {
    button.disabled = false;
  }
}

function listen() {
  for (const button of desk.querySelectorAll("[data-nudge]"))
    button.addEventListener("click", () => {
      const [handle, by] = [button.dataset.handle, Number(button.dataset.nudge)];
      turnTo(handle, (handle === "camera" ? angles.camera[chosen] : guiderOf(chosen)) + by);
    });
  for (const input of desk.querySelectorAll("input[data-angle]")) {
    const read = () => {
      const value = Number(input.value.trim().replace(",", ".").replace("°", ""));
      if (input.value.trim() !== "" && Number.isFinite(value)) turnTo(input.dataset.angle, value);
    };
    input.addEventListener("change", read);
    input.addEventListener("keydown", (event) => {
      if (event.key !== "Enter") return;
      read();
      event.preventDefault();
    });
    input.addEventListener("blur", show);
  }
  form.addEventListener("submit", solve);
  $("hold-camera").addEventListener("click", () => {
    form.elements.camera_angle_deg.value = (Math.round(wrap360(angles.camera[chosen]) * 10) / 10).toFixed(1);
  });
  $("keep-form").addEventListener("submit", (event) => {
    event.preventDefault();
    const poses = ready.map((one, n) => ({
      target: one.target.target,
      ra_deg: one.pose.ra_deg,
      dec_deg: one.pose.dec_deg,
      camera_angle_deg: wrap360(angles.camera[n]),
    }));
    const elements = event.target.elements;
    keep({
      name: elements.name.value.trim(),
      poses,
      stem_offset_deg: angles.stem,
      in_use: elements.in_use.checked,
      note: elements.note.value.trim() || null,
    });
  });
  onWidth(() => ready.length && lay());
}

async function begin() {
  listen();
  try {
    take(await ask("GET", `/api/dial?date=${desk.dataset.date}&nights=${desk.dataset.nights}`));
    desk.dataset.ready = "";
  } catch (error) {
    sayProblems($("solve-says"), error);
  }
}

/** For tests and the curious: what the page has worked out. */
window.sidelight = {
  at: (camera, guider) => evaluate(ready, rig(), { camera: ready.map(() => camera), stem: guider === null ? null : wrap180(guider - camera) }),
  seen: () => seen,
  data: () => data,
  turnTo,
};

begin();
