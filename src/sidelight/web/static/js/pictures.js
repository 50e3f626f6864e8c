// Pictures of a page: their look, saving them, and standing one into the page as live drawing.

const SVG = "http://www.w3.org/2000/svg";
const PNG_SCALE = 2;
const NARROW = window.matchMedia("(max-width: 640px)");

export const isNarrow = () => NARROW.matches;
export const onWidth = (call) => NARROW.addEventListener("change", call);
export const lookNow = () => document.documentElement.dataset.look;

/** The address of a figure's picture; a figure may be small whatever the window is. */
export function pictureAddress(figure, wanted, look = lookNow()) {
  const width = figure.dataset.size === "narrow" ? "narrow" : wanted;
  return `/pictures/${figure.dataset.picture}.svg?${figure.dataset.query}&width=${width}&look=${look}`;
}

/** Point every picture, and every link that saves one, to the look that is on. */
export function relook(look) {
  for (const figure of document.querySelectorAll("figure[data-picture]")) {
    const source = figure.querySelector("source");
    if (source) source.srcset = pictureAddress(figure, "narrow", look);
    const image = figure.querySelector("img");
    if (image) image.src = pictureAddress(figure, figure.dataset.width ?? "wide", look);
    const link = figure.querySelector("[data-save=svg]");
    if (link) link.href = pictureAddress(figure, "wide", look);
  }
}

/** Fetch a picture as text. */
export async function pictureText(address) {
  const answer = await fetch(address);
  if (!answer.ok) throw new Error((await answer.text()) || answer.statusText);
  return answer.text();
}

/** Return a picture's text as an element of this page; browser tips would be white, so its label says it all. */
export function asElement(text) {
  const root = new DOMParser().parseFromString(text, "image/svg+xml").documentElement;
  const svg = document.importNode(root, true);
  for (const title of [...svg.querySelectorAll("title")]) title.remove();
  const words = root.querySelector("title")?.textContent ?? "";
  const more = root.querySelector("desc")?.textContent ?? "";
  svg.querySelector("desc")?.remove();
  svg.removeAttribute("aria-labelledby");
  svg.setAttribute("aria-label", `${words}. ${more}`);
  return svg;
}

/** An empty drawing that lies over another one, on a layer of its own. */
export function overlayOf(svg) {
  const top = svgElement("svg", { viewBox: svg.getAttribute("viewBox"), class: "overlay", "data-overlay": "" });
  if (svg.hasAttribute("font-family")) top.setAttribute("font-family", svg.getAttribute("font-family"));
  return top;
}

export function svgElement(tag, attributes = {}, ...children) {
  const made = document.createElementNS(SVG, tag);
  for (const [name, value] of Object.entries(attributes)) made.setAttribute(name, value);
  made.append(...children);
  return made;
}

export function download(blob, name) {
  const link = document.createElement("a");
  link.href = URL.createObjectURL(blob);
  link.download = name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 5000);
}

/** Draw SVG text on a canvas and return it as PNG. */
export async function asPng(text) {
  const root = new DOMParser().parseFromString(text, "image/svg+xml").documentElement;
  const [, , width, height] = root.getAttribute("viewBox").split(/\s+/).map(Number);
  root.setAttribute("width", width);
  root.setAttribute("height", height);
  const sized = new XMLSerializer().serializeToString(root);
  const image = new Image();
  const address = URL.createObjectURL(new Blob([sized], { type: "image/svg+xml" }));
  image.src = address;
  await image.decode();
  const canvas = document.createElement("canvas");
  canvas.width = Math.round(width * PNG_SCALE);
  canvas.height = Math.round(height * PNG_SCALE);
  canvas.getContext("2d").drawImage(image, 0, 0, canvas.width, canvas.height);
  URL.revokeObjectURL(address);
  return new Promise((done) => canvas.toBlob(done, "image/png"));
}

/** Return the text of a figure's picture as it stands: drawn live, or from the server. */
async function textOf(figure) {
  const live = figure.querySelector("svg[data-live]");
  if (live) {
    const whole = withColours(live);
    for (const top of figure.querySelectorAll("svg[data-overlay]")) whole.append(...withColours(top).childNodes);
    return new XMLSerializer().serializeToString(whole);
  }
  return pictureText(pictureAddress(figure, "wide"));
}

/** Return a copy of a live drawing with the page's colours written into it. */
function withColours(svg) {
  const copy = svg.cloneNode(true);
  copy.setAttribute("xmlns", SVG);
  const style = getComputedStyle(document.documentElement);
  for (const one of [copy, ...copy.querySelectorAll("*")]) {
    for (const name of ["fill", "stroke"]) {
      const value = one.getAttribute(name);
      const variable = value && /^var\((--[\w-]+)\)$/.exec(value);
      if (variable) one.setAttribute(name, style.getPropertyValue(variable[1]).trim());
    }
  }
  return copy;
}

export async function savePicture(figure, kind) {
  const name = (figure.dataset.name ?? figure.dataset.picture).replace(/[^\w-]+/g, "-");
  const text = await textOf(figure);
  if (kind === "svg") download(new Blob([text], { type: "image/svg+xml" }), `${name}.svg`);
  else download(await asPng(text), `${name}.png`);
}
