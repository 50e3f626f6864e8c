// The fields: each target's stars, outlines, frame and guide sensor, north up and east to the left, from the numbers.

import { asElement, overlayOf, svgElement } from "./pictures.js";
import { sideTurn } from "./geometry.js";

const RAD = Math.PI / 180;

function starRadius(layout, mag) {
  const { star_mags: mags, star_radii: radii } = layout;
  if (mag <= mags[0]) return radii[0];
  for (let n = 1; n < mags.length; n += 1) {
    if (mag > mags[n]) continue;
    const share = (mag - mags[n - 1]) / (mags[n] - mags[n - 1]);
    return radii[n - 1] + share * (radii[n] - radii[n - 1]);
  }
  return radii.at(-1);
}

/** The drop that marks a light, towards up. */
function flare(radius) {
  const k = 0.75;
  const [near, far, half] = [-radius - 5 * k, -radius - 27 * k, 5.5 * k];
  return (
    `M0 ${near}C${-half * 0.4} ${near - 9 * k} ${-half} ${far + 9 * k} ${-half} ${far + 5 * k}` +
    `A${half} ${half} 0 0 1 ${half} ${far + 5 * k}C${half} ${far + 9 * k} ${half * 0.4} ${near - 9 * k} 0 ${near}Z`
  );
}

export class Field {
  constructor(place, layout, one, rig) {
    this.rig = rig;
    this.one = one;
    this.layout = layout;
    const svg = asElement(layout.svg);
    for (const name of ["key", "names", "stars", "frame"]) svg.querySelector(`#field-${name}`)?.remove();
    svg.querySelector(":scope > text")?.remove();
    const clip = svg.querySelector("#field-clip rect");
    const [left, top, side] = ["x", "y", "width"].map((name) => Number(clip.getAttribute(name)));
    this.box = { left, top, side };
    this.centre = [left + side / 2, top + side / 2];
    this.scale = side / 2 / layout.reach_mm;
    svg.setAttribute("viewBox", `${left - 8} ${top - 8} ${side + 16} ${side + 16}`);
    svg.setAttribute("data-live", "");
    svg.setAttribute("aria-label", `Field of ${one.target.target}, north up, east to the left`);
    this.unique(svg);
    this.ground(svg.querySelector("g[clip-path]"));
    this.moving = svgElement("g", { class: "moving", "clip-path": `url(#${this.prefix}-clip)` });
    const above = overlayOf(svg);
    above.append(this.moving);
    this.overlay();
    this.svg = svg;
    place.replaceChildren(svg, above);
    this.visible = true;
    this.last = "";
  }

  /** Ids of several fields in one page must differ. */
  unique(svg) {
    this.prefix = `field-${this.one.target.target.replace(/\W+/g, "-")}-${Field.count++}`;
    for (const owner of [svg, ...svg.querySelectorAll("*")]) {
      for (const name of ["id", "clip-path", "fill"]) {
        const value = owner.getAttribute(name);
        if (value?.includes("field-")) owner.setAttribute(name, value.replace("field-", `${this.prefix}-`));
      }
    }
    svg.setAttribute("id", this.prefix);
  }

  at(x, y) {
    return [this.centre[0] - x * this.scale, this.centre[1] - y * this.scale];
  }

  ground(inside) {
    const { one, rig, layout } = this;
    if (rig.whole) {
      const ring = { cx: this.centre[0], cy: this.centre[1], r: rig.whole.stem_radius_mm * this.scale, fill: "none" };
      inside.append(
        svgElement("circle", { ...ring, stroke: "var(--tints-2)", "stroke-width": 2 * rig.whole.half_along_mm * this.scale }),
        svgElement("circle", { ...ring, stroke: "var(--soft-ink)", "stroke-width": 0.8, "stroke-dasharray": "9 3 2 3" }),
      );
    }
    const names = svgElement("g", {});
    for (const outline of one.outlines) {
      inside.append(this.ellipse(outline));
      names.append(this.name(outline));
    }
    const stars = svgElement("g", { fill: "var(--ink)", stroke: "var(--tints-1)", "stroke-width": 0.6 });
    for (let n = one.x.length - 1; n >= 0; n -= 1) {
      const [x, y] = this.at(one.x[n], one.y[n]);
      if (Math.abs(x - this.centre[0]) > this.box.side / 2 + 8 || Math.abs(y - this.centre[1]) > this.box.side / 2 + 8) continue;
      const radius = starRadius(layout, one.target.star_mag[n]).toFixed(2);
      stars.append(svgElement("circle", { cx: x.toFixed(2), cy: y.toFixed(2), r: radius }));
    }
    inside.append(stars, names);
  }

  ellipse(outline) {
    const [x, y] = this.at(...outline.centre);
    const steps = [];
    for (let turn = 0; turn < 360; turn += 6) {
      const [c, s] = [Math.cos(turn * RAD), Math.sin(turn * RAD)];
      const place = [0, 1].map((k) => outline.centre[k] + outline.major[k] * c + outline.minor[k] * s);
      steps.push(this.at(...place).map((value) => value.toFixed(1)).join(" "));
    }
    const size = Math.hypot(...outline.major) * this.scale;
    if (size < 1) return svgElement("path", { d: `M${x - 6} ${y}H${x + 6}M${x} ${y - 6}V${y + 6}`, stroke: "var(--land-ink)", "stroke-width": 2, fill: "none" });
    const look = { d: `M${steps.join("L")}Z`, fill: "var(--land)", "fill-opacity": 0.85, stroke: "var(--land-ink)", "stroke-width": 1.2 };
    return svgElement("path", outline.round ? { ...look, "stroke-dasharray": "6 4" } : look);
  }

  name(outline) {
    const [x, y] = this.at(...outline.centre);
    const down = Math.hypot(outline.major[1], outline.minor[1]) * this.scale;
    const text = svgElement("text", {
      x: x.toFixed(1),
      y: Math.min(y + down + 13, this.box.top + this.box.side - 6).toFixed(1),
      "text-anchor": "middle",
      "font-size": 12,
      "font-style": "italic",
      "font-weight": 600,
      "font-family": "ui-serif, serif",
      fill: "var(--ink)",
      stroke: "var(--tints-1)",
      "stroke-width": 3.5,
      "paint-order": "stroke",
    });
    text.textContent = outline.name;
    return text;
  }

  overlay() {
    const { rig } = this;
    const [x, y] = this.centre;
    const [wide, high] = [rig.frame_width_mm * this.scale, rig.frame_height_mm * this.scale];
    const top = y - high / 2;
    this.frame = svgElement("g", {});
    this.frame.append(
      svgElement("rect", { x: x - wide / 2, y: top, width: wide, height: high, fill: "none", stroke: "var(--ink)", "stroke-width": 2 }),
      svgElement("path", { d: `M${x - 7} ${top}L${x} ${top - 9}L${x + 7} ${top}Z`, fill: "var(--ink)" }),
    );
    this.moving.append(this.frame);
    this.sensors = this.one.rings.map((ring) => this.sensor(ring));
  }

  sensor(ring) {
    const { rig } = this;
    const [x, y] = this.centre;
    const k = this.scale;
    const { stem_radius_mm: radius, half_along_mm: along, half_across_mm: across } = rig.whole;
    const group = svgElement("g", {});
    const east = ring.side === "east";
    const body = {
      x: x - across * k,
      y: y - (radius + along) * k,
      width: 2 * across * k,
      height: 2 * along * k,
      fill: east ? `url(#${this.prefix}-hatch-east)` : "var(--lit-west)",
      "fill-opacity": 0.4,
      stroke: "var(--ink)",
      "stroke-width": ring.needed ? 1.8 : 0.9,
    };
    group.append(svgElement("rect", east ? { ...body, "stroke-dasharray": "6 4" } : body));
    const letter = svgElement("text", { "text-anchor": "middle", "font-size": 13, "font-weight": 700, fill: "var(--ink)", stroke: "var(--tints-1)", "stroke-width": 3.5, "paint-order": "stroke" });
    letter.textContent = { east: "E", west: "W", any: "" }[ring.side];
    const mark = svgElement("g", {});
    const circle = svgElement("circle", { fill: "none", stroke: "var(--overlay)", "stroke-width": 1.6 });
    const drop = svgElement("path", { fill: "var(--overlay)", stroke: "var(--tints-1)", "stroke-width": 0.8 });
    mark.append(circle, drop);
    this.moving.append(group, mark, letter);
    return { ring, group, mark, circle, drop, letter, star: undefined };
  }

  /** Follow the angles. places: this target's, by side. */
  turn(target, places) {
    if (!this.visible) return;
    const [x, y] = this.centre;
    const key = `${target.camera.toFixed(3)} ${target.guider?.toFixed(3)}`;
    if (key === this.last) return;
    this.last = key;
    this.frame.setAttribute("transform", `rotate(${(-target.camera).toFixed(2)} ${x} ${y})`);
    for (const sensor of this.sensors) {
      const angle = target.guider + sideTurn(sensor.ring.side);
      sensor.group.setAttribute("transform", `rotate(${(-angle).toFixed(2)} ${x} ${y})`);
      const { stem_radius_mm: radius, half_along_mm: along } = this.rig.whole;
      const away = (radius - along) * this.scale - 10;
      sensor.letter.setAttribute("x", (x - away * Math.sin(angle * RAD)).toFixed(1));
      sensor.letter.setAttribute("y", (y - away * Math.cos(angle * RAD) + 4.7).toFixed(1));
      const place = places.find((one) => one.side === sensor.ring.side);
      if (place.star !== sensor.star) this.markStar(sensor, place);
    }
  }

  markStar(sensor, place) {
    sensor.star = place.star;
    sensor.mark.setAttribute("visibility", place.star === null ? "hidden" : "visible");
    if (place.star === null) return;
    const [sx, sy] = [this.one.x[place.star], this.one.y[place.star]];
    const radius = starRadius(this.layout, place.mag);
    sensor.circle.setAttribute("r", (radius + 2.6).toFixed(2));
    sensor.drop.setAttribute("d", flare(radius));
    sensor.drop.setAttribute("transform", `rotate(${(-Math.atan2(sx, sy) / RAD).toFixed(1)})`);
    sensor.mark.setAttribute("transform", `translate(${this.at(sx, sy).map((value) => value.toFixed(2)).join(" ")})`);
  }
}
Field.count = 0;
