// Tables: sorting by a column, and saving one as CSV (RFC 4180).

import { download } from "./pictures.js";

const valueOf = (cell) => cell.dataset.value ?? cell.textContent.trim();

function compare(a, b) {
  if (a === "" || b === "") return (a === "") - (b === "");
  const x = Number(a);
  const y = Number(b);
  return Number.isFinite(x) && Number.isFinite(y) ? x - y : a.localeCompare(b, undefined, { numeric: true });
}

export function sortBy(table, column, down) {
  const body = table.tBodies[0];
  const rows = [...body.rows].sort((a, b) => {
    const order = compare(valueOf(a.cells[column]), valueOf(b.cells[column]));
    return down && order !== 0 && valueOf(a.cells[column]) !== "" && valueOf(b.cells[column]) !== "" ? -order : order;
  });
  body.append(...rows);
  [...table.tHead.rows[0].cells].forEach((head, n) => {
    if (head.hasAttribute("aria-sort"))
      head.setAttribute("aria-sort", n !== column ? "none" : down ? "descending" : "ascending");
  });
  const followers = table.dataset.follow && document.getElementById(table.dataset.follow);
  if (followers) {
    const by = new Map([...followers.children].map((one) => [one.dataset.target, one]));
    for (const row of rows) followers.append(by.get(row.dataset.target));
  }
}

export function makeSortable(table) {
  [...table.tHead.rows[0].cells].forEach((head, column) => {
    head.querySelector("button")?.addEventListener("click", () => {
      sortBy(table, column, head.getAttribute("aria-sort") === "ascending");
    });
  });
}

const quoted = (text) => (/[",\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text);

export function csvOf(table) {
  const rows = [...table.rows].filter((row) => !row.hidden);
  const words = (cell) => (cell.dataset.csv ?? cell.textContent).trim().replace(/\s+/g, " ");
  return rows
    .map((row) => [...row.cells].filter((cell) => !cell.hasAttribute("data-no-csv")).map((cell) => quoted(words(cell))).join(","))
    .join("\r\n");
}

export function saveCsv(table, name) {
  download(new Blob(["\ufeff", csvOf(table), "\r\n"], { type: "text/csv;charset=utf-8" }), `${name}.csv`);
}
