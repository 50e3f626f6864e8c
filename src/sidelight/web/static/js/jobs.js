// Jobs in the background: begun, watched, stopped.

import { ask, make } from "./ask.js";

const EVERY_MS = 250;

/** Begin a job, show how far it is in `place`, and return its answer; null when it was stopped. */
export async function runJob(kind, asked, place) {
  const begun = await ask("POST", `/api/jobs/${kind}`, asked);
  const bar = make("div", { class: "progress unknown", role: "progressbar", "aria-label": "How far it is" }, make("div"));
  const words = make("span", { role: "status" }, "Working …");
  const stop = make("button", { type: "button", class: "button small" }, "Stop");
  stop.addEventListener("click", () => ask("DELETE", `/api/jobs/${begun.name}`));
  place.replaceChildren(make("div", { class: "buttons working" }, bar, words, stop));
  try {
    for (;;) {
      await new Promise((done) => setTimeout(done, EVERY_MS));
      const state = await ask("GET", `/api/jobs/${begun.name}`);
      const known = state.done_fraction !== null;
      bar.classList.toggle("unknown", !known);
      if (known) {
        bar.firstChild.style.width = `${Math.round(state.done_fraction * 100)}%`;
        bar.setAttribute("aria-valuenow", Math.round(state.done_fraction * 100));
      }
      words.textContent = `${state.words || "Working"}, ${Math.round(state.seconds)} s`;
      if (state.state === "stopped") return null;
      if (state.state === "refused") {
        const error = new Error(state.refusal.problems.map((one) => one.text).join("\n"));
        error.problems = state.refusal.problems;
        throw error;
      }
      if (state.state === "done") return await ask("GET", `/api/jobs/${begun.name}/answer`);
    }
  } finally {
    place.replaceChildren();
  }
}
