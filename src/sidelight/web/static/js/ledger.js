// The ledger: folders taken in, frames left out and counted again, hours entered by hand.

import { ask, make, sayProblems } from "./ask.js";
import { runJob } from "./jobs.js";
import { download } from "./pictures.js";
import { csvOf } from "./tables.js";

const one = (name) => document.querySelector(`[data-${name}]`);
const A_PAGE = 250;

// -- folders

async function takeIn(asked) {
  const says = one("take-says");
  says.replaceChildren();
  try {
    const report = await runJob("frames", asked, one("take-working"));
    if (report === null) {
      says.textContent = "Stopped. What was read is kept; take the folder in again to go on.";
      return;
    }
    says.append(make("p", {}, make("strong", {}, report.sentence)));
    const lines = [];
    if (report.matched_count) lines.push(`Another target now: ${report.matched_count} known frames.`);
    if (report.rejection_changed_count) lines.push(`Rejected now, or no longer: ${report.rejection_changed_count} frames.`);
    if (report.gone_count) lines.push(`No longer there: ${report.gone_count} files. What was collected still counts.`);
    if (report.copied_to) lines.push(`The ledger was brought up to date; the older one is kept as ${report.copied_to}.`);
    for (const [place, reason] of report.unread) lines.push(`Not opened: ${place}: ${reason}`);
    for (const line of lines) says.append(make("p", {}, line));
    if (report.aside.length) {
      const list = make("ul", {}, ...report.aside.slice(0, 200).map((file) => make("li", {}, `${file.file}: ${file.reason}`)));
      says.append(make("details", {}, make("summary", {}, `Set aside: ${report.aside.length} files`), list));
    }
    const again = make("button", { type: "button", class: "button" }, "Show the ledger as it is now");
    again.addEventListener("click", () => location.reload());
    says.append(again);
    again.focus();
  } catch (error) {
    sayProblems(says, error);
  }
}

one("take")?.addEventListener("submit", (event) => {
  event.preventDefault();
  const folder = event.target.elements.folder.value.trim();
  takeIn({ folders: folder ? [folder] : [] });
});
one("afresh")?.addEventListener("click", () => takeIn({ folders: [], afresh: true }));

// -- frames

const body = one("frames");
const asked = one("frames-asked");
const chosen = new Set();
let frames = [];
let shown = 0;

const stay = () => sessionStorage.setItem("sidelight:ledger-scroll", String(window.scrollY));

function cells(frame) {
  const right = { class: "right" };
  const file = frame.file.split(/[\\/]/).pop();
  return [
    make("th", { scope: "row" }, frame.night ?? "–"),
    make("td", {}, frame.start_utc.slice(11, 19)),
    make("td", {}, frame.target ?? "–"),
    make("td", {}, frame.filter || "–"),
    make("td", right, String(frame.exposure_s)),
    make("td", {}, frame.side ?? "–"),
    make("td", right, frame.altitude_deg === null ? "–" : `${frame.altitude_deg.toFixed(0)}°`),
    make("td", right, frame.weight === null ? "–" : frame.weight.toFixed(2)),
    make("td", { class: "file", title: frame.file, "data-csv": frame.file }, file),
    make("td", {}, frame.counts ? "yes" : `no: ${frame.why_not}`),
  ];
}

function row(frame) {
  const box = make("input", { type: "checkbox", "data-frame": frame.identity, "aria-label": `Choose ${frame.file.split(/[\\/]/).pop()}` });
  box.checked = chosen.has(frame.identity);
  return make("tr", { "data-out": !frame.counts }, make("td", { "data-no-csv": true }, box), ...cells(frame));
}

function showMore() {
  body.append(...frames.slice(shown, shown + A_PAGE).map(row));
  shown = Math.min(frames.length, shown + A_PAGE);
  const more = one("more");
  more.hidden = shown >= frames.length;
  more.textContent = `Show ${Math.min(A_PAGE, frames.length - shown)} more of ${frames.length}`;
}

function countChosen() {
  one("chosen").textContent = chosen.size ? `${chosen.size} chosen` : "None chosen";
  for (const button of document.querySelectorAll("[data-do], [data-give]")) button.disabled = chosen.size === 0;
}

async function loadFrames() {
  const query = new URLSearchParams();
  for (const name of ["target", "night"]) if (asked.elements[name].value) query.set(name, asked.elements[name].value);
  if (asked.elements.not_counted.checked) query.set("not_counted", "true");
  try {
    frames = (await ask("GET", `/api/ledger/frames?${query}`)).frames.reverse();
  } catch (error) {
    sayProblems(one("frames-says"), error);
    return;
  }
  chosen.clear();
  shown = 0;
  body.replaceChildren();
  one("all").checked = false;
  if (frames.length === 0) body.append(make("tr", {}, make("td", { colspan: 11 }, "No frame is like that.")));
  showMore();
  countChosen();
}

async function change(path, more) {
  try {
    await ask("POST", `/api/ledger/${path}`, { frames: [...chosen], ...more });
    stay();
    location.reload();
  } catch (error) {
    sayProblems(one("frames-says"), error);
  }
}

if (body) {
  asked.addEventListener("change", loadFrames);
  asked.addEventListener("submit", (event) => event.preventDefault());
  one("more").addEventListener("click", showMore);
  body.addEventListener("change", (event) => {
    const name = event.target.dataset.frame;
    if (event.target.checked) chosen.add(name);
    else chosen.delete(name);
    countChosen();
  });
  one("all").addEventListener("change", (event) => {
    for (const box of body.querySelectorAll("[data-frame]")) {
      box.checked = event.target.checked;
      if (box.checked) chosen.add(box.dataset.frame);
      else chosen.delete(box.dataset.frame);
    }
    countChosen();
  });
  document.querySelector("[data-do=exclude]").addEventListener("click", () => change("exclude", { reason: one("why").value }));
  document.querySelector("[data-do=restore]").addEventListener("click", () => change("restore", {}));
  one("give").addEventListener("change", (event) => {
    const to = event.target.value;
    if (to) change("assign", { target: to === "-" ? null : to.slice(1) });
  });
  one("frames-csv").addEventListener("click", () => {
    const whole = make("table", {}, document.querySelector("#frames-table thead").cloneNode(true), make("tbody", {}, ...frames.map(row)));
    download(new Blob(["\ufeff", csvOf(whole), "\r\n"], { type: "text/csv;charset=utf-8" }), "frames.csv");
  });
  one("show-lost")?.addEventListener("click", () => {
    asked.elements.target.value = "";
    asked.elements.night.value = "";
    asked.elements.not_counted.checked = true;
    loadFrames();
    document.getElementById("frames-h").scrollIntoView();
  });
  await loadFrames();
  const back = sessionStorage.getItem("sidelight:ledger-scroll");
  if (back) window.scrollTo(0, Number(back));
  sessionStorage.removeItem("sidelight:ledger-scroll");
}

// -- hours by hand

const number = (text) => (text.trim() === "" ? null : Number(text.trim().replace(",", ".").replace("−", "-")));

one("hand")?.addEventListener("submit", async (event) => {
  event.preventDefault();
  const form = event.target.elements;
  const hours = number(form.hours_h.value);
  const weight = number(form.weight.value);
  form.hours_h.setAttribute("aria-invalid", String(!(hours > 0)));
  form.weight.setAttribute("aria-invalid", String(Number.isNaN(weight)));
  if (!(hours > 0) || Number.isNaN(weight)) {
    const words = hours > 0 ? "The weight is a number from 0 to 2, or nothing." : "Say how many hours, such as 2.5.";
    sayProblems(one("hand-says"), new Error(words));
    (hours > 0 ? form.weight : form.hours_h).focus();
    return;
  }
  try {
    await ask("POST", "/api/ledger/hours", {
      target: form.target.value,
      hours_h: hours,
      filter: form.filter.value,
      night: form.night.value.trim() || null,
      weight,
      note: form.note.value.trim(),
    });
    stay();
    location.reload();
  } catch (error) {
    sayProblems(one("hand-says"), error);
  }
});
for (const button of document.querySelectorAll("[data-take-back]")) {
  button.addEventListener("click", async () => {
    try {
      await ask("DELETE", `/api/ledger/hours?number=${button.dataset.takeBack}`);
      stay();
      location.reload();
    } catch (error) {
      sayProblems(one("hand-says"), error);
    }
  });
}
