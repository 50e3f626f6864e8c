// Asking the server, and saying what it refuses.

export class Refused extends Error {
  constructor(problems, status) {
    super(problems.map((one) => one.text).join("\n"));
    this.problems = problems;
    this.status = status;
  }
}

/** Send a request and return the JSON that comes back; a refusal is thrown as Refused. */
export async function ask(method, path, body) {
  const options = { method, headers: { accept: "application/json" } };
  if (body !== undefined) {
    options.headers["content-type"] = "application/json";
    options.body = JSON.stringify(body);
  }
  let answer;
  try {
    answer = await fetch(path, options);
  } catch {
    const message = "The server does not answer. Is it still running?";
    throw new Refused([{ message, text: message }], 0);
  }
  const data = await answer.json().catch(() => null);
  if (!answer.ok) {
    const problems = data?.problems ?? [{ message: answer.statusText, text: answer.statusText }];
    throw new Refused(problems, answer.status);
  }
  return data;
}

/** Fill an element with a refusal's sentences, or empty it. */
export function sayProblems(place, error) {
  place.replaceChildren();
  if (!error) return;
  const problems = error instanceof Refused ? error.problems : [{ text: String(error.message ?? error) }];
  const list = document.createElement("ul");
  list.className = "problems";
  for (const one of problems) {
    const item = document.createElement("li");
    item.textContent = one.text;
    list.append(item);
  }
  place.append(list);
}

/** Make an element with attributes and children. */
export function make(tag, attributes = {}, ...children) {
  const made = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (value === false || value === null || value === undefined) continue;
    made.setAttribute(name, value === true ? "" : value);
  }
  made.append(...children);
  return made;
}

/** Keep a value in this browser; where that is forbidden nothing is kept. */
export const memory = {
  get(name) {
    try {
      return JSON.parse(localStorage.getItem(`sidelight:${name}`));
    } catch {
      return null;
    }
  },
  set(name, value) {
    try {
      localStorage.setItem(`sidelight:${name}`, JSON.stringify(value));
    } catch {
      // the page works without
    }
  },
};
