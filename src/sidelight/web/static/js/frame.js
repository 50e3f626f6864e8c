// What every page does: the clock, the red light, saving pictures and tables, stepping nights, noticing changes.

import { ask, make, memory } from "./ask.js";
import { relook, savePicture } from "./pictures.js";
import { makeSortable, saveCsv } from "./tables.js";

const LOOK_EVENT = "sidelight:look";
const CHANGED_EVERY_MS = 4000;

function hideToken() {
  const address = new URL(location.href);
  if (!address.searchParams.has("token")) return;
  address.searchParams.delete("token");
  history.replaceState(null, "", address);
}

function runClock() {
  const place = document.querySelector("[data-clock]");
  const zone = document.body.dataset.zone;
  if (!zone) return;
  const words = new Intl.DateTimeFormat("en-GB", { timeZone: zone, hour: "2-digit", minute: "2-digit" });
  const tick = () => {
    place.textContent = words.format(new Date());
  };
  tick();
  setInterval(tick, 1000);
}

function lookSwitch() {
  const button = document.querySelector("[data-look-switch]");
  button.form.addEventListener("submit", async (event) => {
    event.preventDefault();
    const look = document.documentElement.dataset.look === "night" ? "day" : "night";
    document.documentElement.dataset.look = look;
    button.setAttribute("aria-checked", String(look === "night"));
    button.value = look === "night" ? "day" : "night";
    const paper = getComputedStyle(document.documentElement).getPropertyValue("--paper").trim();
    document.querySelector("meta[name=theme-color]").content = paper;
    relook(look);
    document.dispatchEvent(new CustomEvent(LOOK_EVENT, { detail: look }));
    await fetch("/look", {
      method: "POST",
      headers: { "content-type": "application/x-www-form-urlencoded" },
      body: `look=${look}`,
      redirect: "manual",
    });
  });
}

function saveButtons() {
  document.addEventListener("click", (event) => {
    const button = event.target.closest("button[data-save]");
    if (button) savePicture(button.closest("figure"), button.dataset.save);
    const csv = event.target.closest("button[data-csv]");
    if (csv) saveCsv(document.getElementById(csv.dataset.csv), csv.dataset.name);
    if (event.target.closest("[data-print]")) window.print();
  });
}

function nightForms() {
  for (const form of document.querySelectorAll("[data-nights]")) {
    for (const button of form.querySelectorAll("[data-step]")) {
      button.addEventListener("click", () => {
        const at = new Date(`${form.elements.date.value}T12:00:00Z`);
        if (Number.isNaN(at.getTime())) return;
        at.setUTCDate(at.getUTCDate() + Number(button.dataset.step));
        form.elements.date.value = at.toISOString().slice(0, 10);
        form.requestSubmit();
      });
    }
  }
}

/** Say that a file was changed by another hand; `known` holds what this page itself has written since. */
export const ownChanges = { signature: null };

async function noticeChanges() {
  if (!document.body.dataset.zone) return;
  let seen = null;
  const look = async () => {
    if (document.hidden || document.querySelector(".notice")) return;
    const state = await ask("GET", "/api/notebook/state").catch(() => null);
    if (!state) return;
    if (seen === null || ownChanges.signature === state.signature) seen = state.signature;
    if (seen !== state.signature) {
      const again = make("button", { type: "button", class: "button" }, "Read it again");
      again.addEventListener("click", () => location.reload());
      const told = state.begun
        ? "The notebook was changed meanwhile, by hand or in another window."
        : "The notebook’s folder is gone: moved, deleted, or its drive is off. What this page shows is from before.";
      const words = make("span", {}, told);
      document.body.append(make("div", { class: "notice", role: "alert" }, words, again));
    }
  };
  await look();
  setInterval(look, CHANGED_EVERY_MS);
  document.addEventListener("visibilitychange", look);
}

/** Remember what this page wrote as its own change. */
export async function rememberOwnChange() {
  const state = await ask("GET", "/api/notebook/state").catch(() => null);
  if (state) ownChanges.signature = state.signature;
}

/** What scrolls sideways can be scrolled by keys as well. */
function scrollable() {
  const look = new ResizeObserver((entries) => {
    for (const { target } of entries) {
      const wide = target.scrollWidth > target.clientWidth;
      if (wide) target.setAttribute("tabindex", "0");
      else target.removeAttribute("tabindex");
      if (wide && !target.hasAttribute("role")) {
        target.setAttribute("role", "region");
        target.setAttribute("aria-label", "Table, scrolls sideways");
      }
    }
  });
  for (const one of document.querySelectorAll(".scroll")) look.observe(one);
}

hideToken();
scrollable();
runClock();
lookSwitch();
saveButtons();
nightForms();
for (const table of document.querySelectorAll("table[data-sortable]")) makeSortable(table);
const current = document.querySelector(".pages [aria-current]");
if (current) {
  const row = current.closest(".pages");
  row.scrollLeft = current.offsetLeft - row.clientWidth / 2 + current.offsetWidth / 2;
}
noticeChanges();
export { LOOK_EVENT, memory };
