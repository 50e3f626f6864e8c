// The dial: rings, needle, camera mark, shadow; turned by mouse, touch and keys. Drawn into the pictures' own frame.

import { asElement, overlayOf, svgElement } from "./pictures.js";
import { rest, total, together, wrap360, wrap180 } from "./geometry.js";

const RAD = Math.PI / 180;
const STEP_DEG = 0.1;
const BIG_STEP_DEG = 1;
const HUGE_STEP_DEG = 10;

const at = ([x, y], radius, angle) => [x - radius * Math.sin(angle * RAD), y - radius * Math.cos(angle * RAD)];
const point = ([x, y]) => `${x.toFixed(2)} ${y.toFixed(2)}`;
export const angleWords = (value) => `${(Math.round(wrap360(value) * 10) / 10 % 360).toFixed(1)}°`;

/** Path of the piece of a ring between two radii and two angles that run counter-clockwise from up. */
function sector(centre, inner, outer, from, to) {
  if (to - from >= 360)
    return [outer, inner].map((r) => `M${point(at(centre, r, 0))}A${r} ${r} 0 0 0 ${point(at(centre, r, 180))}A${r} ${r} 0 0 0 ${point(at(centre, r, 360))}Z`).join("");
  const large = to - from > 180 ? 1 : 0;
  return (
    `M${point(at(centre, outer, from))}A${outer} ${outer} 0 ${large} 0 ${point(at(centre, outer, to))}` +
    `L${point(at(centre, inner, to))}A${inner} ${inner} 0 ${large} 1 ${point(at(centre, inner, from))}Z`
  );
}

export class Dial {
  /** place: the element to draw in. onTurn(handle, angle): called with "guider" or "camera" while it is turned. */
  constructor(place, onTurn) {
    this.place = place;
    this.onTurn = onTurn;
    this.dragging = null;
  }

  /** Draw everything that does not follow the needle. */
  draw(layout, ready, rig) {
    const had = this.svg?.contains(document.activeElement) ? document.activeElement.dataset.handle : null;
    this.layout = layout;
    this.guided = Boolean(rig.usable);
    this.centre = [layout.centre_x, layout.centre_y];
    const svg = asElement(layout.svg);
    svg.setAttribute("data-live", "");
    svg.removeAttribute("aria-label");
    svg.setAttribute("role", "group");
    svg.setAttribute("aria-label", "Dial");
    for (const name of ["key", "marks", "needle", "rings"]) svg.querySelector(`#dial-${name}`)?.remove();
    svg.querySelector(":scope > text")?.remove();
    const reach = layout.bezel + Math.max(58 * layout.scale, 42);
    svg.setAttribute("viewBox", `${this.centre[0] - reach} ${this.centre[1] - reach} ${2 * reach} ${2 * reach}`);
    const reading = svg.querySelector("#dial-reading");
    this.words = [...reading.querySelectorAll("text")];
    this.grooves(svg, ready, reading);
    // what moves stands in a drawing of its own above, so that turning it does not paint the rings anew
    const top = overlayOf(svg);
    top.append(reading);
    this.figures = this.figuresOf(svg);
    reading.before(...this.figures.map((one) => one.text));
    this.handles(top, reading, rig);
    this.place.replaceChildren(svg, top);
    this.svg = top;
    this.listen();
    if (had) top.querySelector(`[data-handle=${had}]`)?.focus();
  }

  /** The border's figures, which step outwards where the camera's mark would hide them. */
  figuresOf(svg) {
    return [...svg.querySelectorAll("[id^=dial-figure-]")].map((text) => {
      text.setAttribute("pointer-events", "none");
      text.setAttribute("aria-hidden", "true");
      return { text, angle: Number(text.id.slice("dial-figure-".length)) };
    });
  }

  grooves(svg, ready, before) {
    const { layout, centre } = this;
    const beam = together(ready);
    const reach = layout.bezel - 13 * layout.scale;
    const face = svgElement("g", { class: "beams" });
    for (const [a, b] of beam) {
      face.append(svgElement("path", { d: sector(centre, layout.hub, reach, a, b), fill: "var(--beam)", "fill-rule": "evenodd" }));
      if (b - a < 360)
        for (const edge of [a, b]) {
          const [from, to] = [at(centre, layout.hub, edge), at(centre, reach, edge)];
          face.append(svgElement("path", { d: `M${point(from)}L${point(to)}`, stroke: "var(--ink)", "stroke-width": 0.8, "stroke-dasharray": "5 3" }));
        }
    }
    svg.querySelector("#dial-face").append(face);
    this.lanes = [];
    const rings = svgElement("g", { id: "dial-rings" });
    for (const lane of layout.lanes) {
      const index = ready.findIndex((one) => one.target.target === lane.target);
      const one = ready[index];
      const ring = one?.rings.find((other) => other.side === lane.side) ?? {
        needed: one?.target.required,
        lit: one?.frame ?? [],
        side: "any",
      };
      rings.append(this.lane(lane, ring));
      this.lanes.push({ ...lane, index, needed: ring.needed, lit: ring.lit });
    }
    before.before(rings);
  }

  lane(lane, ring) {
    const { centre } = this;
    const middle = (lane.inner + lane.outer) / 2;
    const share = `${(total(ring.lit) / 3.6).toFixed(1)} % lit`;
    const group = svgElement("g", { role: "img", "aria-label": `${lane.number} ${lane.target}, ${lane.side}: ${share}` });
    const groove = { cx: centre[0], cy: centre[1], r: middle, fill: "none", stroke: "var(--hairline)", "stroke-width": 0.7 };
    if (!ring.needed) groove["stroke-dasharray"] = "1 3";
    group.append(svgElement("circle", groove));
    const thin = ring.needed ? 0 : (lane.outer - lane.inner) / 4;
    const paint = !ring.needed ? "var(--paper)" : lane.side === "east" ? "url(#dial-hatch-east)" : "var(--lit-west)";
    for (const [a, b] of ring.lit)
      group.append(
        svgElement("path", {
          d: sector(centre, lane.inner + thin, lane.outer - thin, a, b),
          fill: paint,
          "fill-rule": "evenodd",
          stroke: ring.needed ? "var(--lit-edge)" : "var(--soft-ink)",
          "stroke-width": 0.6,
        }),
      );
    return group;
  }

  handles(svg, before, rig) {
    const { layout, centre } = this;
    const [x, y] = centre;
    const k = layout.scale;
    const [hub, reach] = [layout.hub, layout.bezel + 4 * k];
    this.shadow = svgElement("g", { class: "shadow" });
    this.rig = rig;
    if (this.guided) {
      const dark = rig.shadow_everywhere ? [[0, 360]] : rest(rig.stem_arcs_deg.map((arc) => [...arc]));
      for (const [a, b] of dark)
        this.shadow.append(
          svgElement("path", {
            d: sector(centre, layout.bezel - 36 * k, layout.bezel - 15 * k, a, b),
            fill: "url(#dial-hatch-land)",
            stroke: "var(--land-ink)",
            "stroke-width": 0.7,
            opacity: 0.9,
          }),
        );
    }
    before.before(this.shadow);
    this.marks = svgElement("g", { class: "marks", "aria-hidden": "true" });
    this.needle = svgElement("g", { "data-handle": "guider", class: "handle" });
    const tip = [[x, y - reach], [x - 7 * k, y - reach + 26 * k], [x, y - reach + 40 * k], [x + 7 * k, y - reach + 26 * k]];
    const grip = Math.max(22, 20 * k);
    this.needle.append(
      svgElement("rect", { x: x - grip, y: y - reach - 8, width: 2 * grip, height: reach - hub + 8, fill: "transparent" }),
      svgElement("path", { d: `M${x} ${y - hub}V${y - reach + 38 * k}`, stroke: "var(--paper)", "stroke-width": 4.4 }),
      svgElement("path", { d: `M${x} ${y - hub}V${y - reach + 38 * k}`, stroke: "var(--overlay)", "stroke-width": 2 }),
      svgElement("path", { d: `M${x} ${y + hub}V${y + layout.bezel - 20 * k}`, stroke: "var(--overlay)", "stroke-width": 0.8 }),
      svgElement("path", { d: `M${tip.map(point).join("L")}Z`, fill: "var(--overlay)", stroke: "var(--paper)", "stroke-width": 1 }),
    );
    this.camera = svgElement("g", { "data-handle": "camera", class: "handle" });
    const [edge, size] = [layout.bezel + 5, 13 * Math.max(k, 0.8)];
    this.cameraSize = size;
    this.camera.append(
      svgElement("rect", { x: x - grip, y: y - edge - 2 * size, width: 2 * grip, height: 2 * size + 14, fill: "transparent" }),
      svgElement("path", {
        d: `M${x - size} ${y - edge - size}H${x + size}L${x} ${y - edge}Z`,
        fill: "var(--ink)",
        stroke: "var(--paper)",
        "stroke-width": 1.5,
      }),
      svgElement("rect", { x: x - size, y: y - edge - size * 1.75, width: 2 * size, height: size * 0.75, fill: "var(--paper)", stroke: "var(--ink)", "stroke-width": 1.6 }),
    );
    for (const [handle, name] of [[this.camera, "Camera angle"], [this.needle, "Guider angle"]]) {
      handle.setAttribute("role", "slider");
      handle.setAttribute("tabindex", "0");
      handle.setAttribute("aria-label", name);
      handle.setAttribute("aria-valuemin", "0");
      handle.setAttribute("aria-valuemax", "360");
    }
    before.before(...(this.guided ? [this.camera, this.needle] : [this.camera]), this.marks);
    this.dots = this.lanes.map((lane) => this.dot(lane));
    this.numbers = this.numberTexts();
  }

  dot(lane) {
    const size = Math.min(5, Math.max(2.4, (lane.outer - lane.inner) * 0.3));
    const group = svgElement("g", { visibility: lane.needed ? "visible" : "hidden" });
    const lit = svgElement("circle", { r: size, fill: "var(--overlay)", stroke: "var(--paper)", "stroke-width": 1.2 });
    const cross = `M${-size} ${-size}L${size} ${size}M${-size} ${size}L${size} ${-size}`;
    const dark = svgElement("g", {});
    dark.append(
      svgElement("path", { d: cross, stroke: "var(--paper)", "stroke-width": 4.5 }),
      svgElement("path", { d: cross, stroke: "var(--overlay)", "stroke-width": 2 }),
    );
    group.append(lit, dark);
    this.marks.append(group);
    return { group, lit, dark, lane };
  }

  numberTexts() {
    const found = [];
    for (const number of new Set(this.lanes.map((lane) => lane.number))) {
      const own = this.lanes.filter((lane) => lane.number === number);
      const radius = (Math.max(...own.map((one) => one.outer)) + Math.min(...own.map((one) => one.inner))) / 2;
      const size = Math.max(11, Math.min(15, (own[0].outer - own[0].inner) * 1.6));
      const text = svgElement("text", {
        "text-anchor": "middle",
        "font-size": size,
        fill: "var(--ink)",
        stroke: "var(--tints-1)",
        "stroke-width": 3.5,
        "stroke-linejoin": "round",
        "paint-order": "stroke",
      });
      text.textContent = String(number);
      this.marks.append(text);
      found.push({ text, radius, size, aside: number % 2 ? 1 : -1 });
    }
    return found;
  }

  /** How far a figure has to step outwards, and within how many degrees of the mark's middle it would be touched. */
  stepOf(figure) {
    const box = figure.text.getBBox();
    const [dx, dy] = [box.x + box.width / 2 - this.centre[0], box.y + box.height / 2 - this.centre[1]];
    const radius = Math.hypot(dx, dy);
    const along = (Math.abs(dx) * box.width + Math.abs(dy) * box.height) / 2 / radius;
    const across = (Math.abs(dy) * box.width + Math.abs(dx) * box.height) / 2 / radius;
    const size = this.cameraSize;
    return {
      out: Math.max(0, this.layout.bezel + 8 + 1.75 * size + along - radius),
      near: (size + across + 2) / radius / RAD,
      far: (size + across + 14) / radius / RAD,
    };
  }

  /** Let each figure stand clear of the camera's mark: outside it while they would meet, and home again beside it. */
  clearFigures(camera) {
    for (const figure of this.figures) {
      figure.step ??= this.stepOf(figure);
      const { out, near, far } = figure.step;
      const apart = Math.abs(wrap180(figure.angle - camera));
      const share = Math.min(1, Math.max(0, (far - apart) / (far - near)));
      const moved = share > 0 ? `translate(${at([0, 0], out * share, figure.angle).map((one) => one.toFixed(1)).join(" ")})` : null;
      if (moved === null) figure.text.removeAttribute("transform");
      else figure.text.setAttribute("transform", moved);
    }
  }

  /** Move everything that follows the angles. pose: {camera, guider, stem}; seen: from geometry's evaluate. */
  turn(pose, seen, guiderOf) {
    const [x, y] = this.centre;
    const needle = this.guided ? pose.guider : pose.camera;
    this.needle.setAttribute("transform", `rotate(${(-needle).toFixed(2)} ${x} ${y})`);
    this.camera.setAttribute("transform", `rotate(${(-pose.camera).toFixed(2)} ${x} ${y})`);
    this.clearFigures(pose.camera);
    this.shadow.setAttribute("transform", `rotate(${(-pose.camera).toFixed(2)} ${x} ${y})`);
    for (const { group, lit, dark, lane } of this.dots) {
      if (!lane.needed) continue;
      const angle = this.guided ? guiderOf(lane.index) : pose.camera;
      const place = at(this.centre, (lane.inner + lane.outer) / 2, angle);
      group.setAttribute("transform", `translate(${point(place)})`);
      const on = this.guided
        ? seen.places.some((one) => one.index === lane.index && one.side === lane.side && one.star !== null)
        : seen.targets[lane.index].framed;
      lit.setAttribute("visibility", on ? "inherit" : "hidden");
      dark.setAttribute("visibility", on ? "hidden" : "inherit");
    }
    for (const { text, radius, size, aside } of this.numbers) {
      const away = ((size * 0.62) / radius / RAD) * aside;
      const [tx, ty] = at(this.centre, radius, needle + 180 + away);
      text.setAttribute("x", tx.toFixed(1));
      text.setAttribute("y", (ty + 0.36 * size).toFixed(1));
    }
    this.words[1].textContent = angleWords(needle);
    if (this.words[2]) this.words[2].textContent = seen.complete ? `slack ${slackShort(seen.slack)}` : `${seen.served} of ${seen.needed} lit`;
    this.say(this.needle, pose.guider ?? 0, seen);
    this.say(this.camera, pose.camera, seen);
  }

  say(handle, angle, seen) {
    handle.setAttribute("aria-valuenow", (Math.round(wrap360(angle) * 10) / 10).toFixed(1));
    const state = seen.needed ? `${seen.served} of ${seen.needed} rings lit` : `${seen.framed} of ${seen.frames} framed`;
    handle.setAttribute("aria-valuetext", `${angleWords(angle)}, ${state}, slack ${slackShort(seen.slack)}`);
  }

  listen() {
    const { svg } = this;
    const angleOf = (event) => {
      const matrix = svg.getScreenCTM().inverse();
      const place = new DOMPoint(event.clientX, event.clientY).matrixTransform(matrix);
      const [dx, dy] = [place.x - this.centre[0], place.y - this.centre[1]];
      return [wrap360(Math.atan2(-dx, -dy) / RAD), Math.hypot(dx, dy)];
    };
    svg.addEventListener("pointerdown", (event) => {
      const [angle, radius] = angleOf(event);
      if (radius < this.layout.hub || event.button !== 0) return;
      const camera = !this.guided || event.target.closest("[data-handle=camera]") || radius > this.layout.bezel + 2;
      const handle = camera ? "camera" : "guider";
      const held = event.target.closest(".handle") !== null;
      // a handle that is taken keeps its angle under the finger; elsewhere the needle comes to the finger
      const now = Number(this[camera ? "camera" : "needle"].getAttribute("aria-valuenow"));
      this.dragging = { handle, offset: held ? wrap180(now - angle) : 0, id: event.pointerId };
      svg.setPointerCapture(event.pointerId);
      this[camera ? "camera" : "needle"].focus({ preventScroll: true });
      this.onTurn(handle, angle + this.dragging.offset);
      event.preventDefault();
    });
    svg.addEventListener("pointermove", (event) => {
      if (this.dragging?.id !== event.pointerId) return;
      this.onTurn(this.dragging.handle, angleOf(event)[0] + this.dragging.offset);
    });
    for (const name of ["pointerup", "pointercancel"])
      svg.addEventListener(name, () => {
        this.dragging = null;
      });
    for (const [handle, name] of [[this.needle, "guider"], [this.camera, "camera"]])
      handle.addEventListener("keydown", (event) => this.key(event, handle, name));
  }

  key(event, handle, name) {
    const step = event.shiftKey ? BIG_STEP_DEG : STEP_DEG;
    const moves = { ArrowRight: step, ArrowLeft: -step, ArrowUp: step, ArrowDown: -step, PageUp: HUGE_STEP_DEG, PageDown: -HUGE_STEP_DEG };
    const now = Number(handle.getAttribute("aria-valuenow"));
    if (event.key in moves) this.onTurn(name, now + moves[event.key]);
    else if (event.key === "Home") this.onTurn(name, 0);
    else if (event.key === "End") this.onTurn(name, 180);
    else return;
    event.preventDefault();
  }
}

export const slackShort = (value) => (value >= 180 ? "no limit" : `${value.toFixed(1)}°`);
