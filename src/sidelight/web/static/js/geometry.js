// The closed forms of the set-up, as the solver has them: the plane, rings, slack, frames, the prism's shadow.
// Position angles in degrees from north through east; arcs are [from, to] with from in [0, 360), unwrapped.
// Everything here is pure; tests hold it against the solver.

const RAD = Math.PI / 180;
export const ROUNDING_DEG = 0.002;
const FULL = [[0, 360]];
const FRAME_STEP_DEG = 0.5;
const NO_LIMIT_DEG = 180;

export const wrap360 = (angle) => ((angle % 360) + 360) % 360;
export const wrap180 = (angle) => wrap360(angle + 180) - 180;
export const sideTurn = (side) => (side === "east" ? 180 : 0);

/** Where a direction falls in the focal plane: [east, north] mm from the pointing (gnomonic). */
export function planeMm(ra, dec, ra0, dec0, focal) {
  const [d, d0, across] = [dec * RAD, dec0 * RAD, (ra - ra0) * RAD];
  const ahead = Math.sin(d) * Math.sin(d0) + Math.cos(d) * Math.cos(d0) * Math.cos(across);
  if (ahead <= 1e-9) return [Infinity, Infinity];
  const scale = focal / ahead;
  return [
    scale * Math.cos(d) * Math.sin(across),
    scale * (Math.sin(d) * Math.cos(d0) - Math.cos(d) * Math.sin(d0) * Math.cos(across)),
  ];
}

/** Return a sorted, merged arc set; the whole circle is [[0, 360]]. */
export function union(rows) {
  const cut = rows
    .filter(([a, b]) => b > a)
    .map(([a, b]) => (b - a >= 360 ? [0, 360] : [wrap360(a), wrap360(a) + (b - a)]))
    .sort((one, other) => one[0] - other[0]);
  if (cut.some(([a, b]) => b - a >= 360)) return FULL;
  const merged = [];
  for (const [a, b] of cut) {
    const last = merged.at(-1);
    if (last && a <= last[1]) last[1] = Math.max(last[1], b);
    else merged.push([a, b]);
  }
  // what runs past north may reach the first arcs
  while (merged.length > 1 && merged.at(-1)[1] - 360 >= merged[0][0]) {
    const first = merged.shift();
    merged.at(-1)[1] = Math.max(merged.at(-1)[1], first[1] + 360);
  }
  return merged.length === 1 && merged[0][1] - merged[0][0] >= 360 ? FULL : merged;
}

export const isFull = (arcs) => arcs.length === 1 && arcs[0][1] - arcs[0][0] >= 360;
export const total = (arcs) => arcs.reduce((sum, [a, b]) => sum + b - a, 0);

/** What two arc sets have in common. */
export function common(first, second) {
  if (isFull(first)) return second;
  if (isFull(second)) return first;
  const rows = [];
  for (const [a, b] of first)
    for (const [c, d] of second)
      for (const turn of [-360, 0, 360]) {
        const low = Math.max(a, c + turn);
        const high = Math.min(b, d + turn);
        if (high > low) rows.push([low, high]);
      }
  return union(rows);
}

/** What is left of the circle. */
export function rest(arcs) {
  if (!arcs.length) return FULL;
  if (isFull(arcs)) return [];
  return arcs.map(([, end], n) => [end, n + 1 < arcs.length ? arcs[n + 1][0] : arcs[0][0] + 360]).filter(([a, b]) => b > a);
}

export const turned = (arcs, by) => (isFull(arcs) ? arcs : union(arcs.map(([a, b]) => [a + by, b + by])));

/** Distance to the end of the arc that an angle stands in; 0 outside, 180 on the whole circle. */
export function slackAt(arcs, angle) {
  if (isFull(arcs)) return NO_LIMIT_DEG;
  let most = 0;
  for (const [a, b] of arcs) {
    const in_ = wrap360(angle - a);
    most = Math.max(most, Math.min(in_, b - a - in_));
  }
  return most;
}

export const contains = (arcs, angle) => arcs.some(([a, b]) => wrap360(angle - a) <= b - a);

/** Arcs of g at which one star is on the guide rectangle, as for a target in the west. */
export function starArcs(rho, q, rectangle) {
  const { stem_radius_mm: radius, half_along_mm: along, half_across_mm: across } = rectangle;
  const [inner, outer] = [radius - along, radius + along];
  if (along <= 0 || across <= 0 || rho <= Math.max(inner, 0) || rho >= Math.hypot(outer, across)) return [];
  const near = Math.acos(Math.min(1, outer / rho)) / RAD;
  const far = Math.min(Math.asin(Math.min(1, across / rho)), Math.acos(Math.max(-1, Math.min(1, inner / rho)))) / RAD;
  if (near === 0) return [[q - far, q + far]];
  return [
    [q - far, q - near],
    [q + near, q + far],
  ];
}

/** One ring: rows of [from, to, star index], and their union. stars: {x, y} arrays of the usable ones. */
export function ringOf(stars, side, rectangle) {
  const rows = [];
  for (let n = 0; n < stars.x.length; n += 1) {
    const q = Math.atan2(stars.x[n], stars.y[n]) / RAD - sideTurn(side);
    for (const [a, b] of starArcs(Math.hypot(stars.x[n], stars.y[n]), q, rectangle)) rows.push([a, b, n]);
  }
  return { rows, lit: union(rows) };
}

/** The star that serves a ring: the brightest that stands the tolerance, else the one with most slack. */
export function chosenStar(ring, guider, tolerance) {
  let most = -1;
  for (const row of ring.rows) {
    const in_ = wrap360(guider - row[0]);
    const slack = Math.min(in_, row[1] - row[0] - in_);
    if (slack > most) most = slack;
  }
  if (most < 0) return null;
  const enough = Math.min(tolerance, most) - ROUNDING_DEG;
  let best = null;
  for (const row of ring.rows) {
    const in_ = wrap360(guider - row[0]);
    const slack = Math.min(in_, row[1] - row[0] - in_);
    if (slack >= 0 && slack >= enough && (best === null || row[2] < best.star)) best = { star: row[2], slack };
  }
  return best;
}

/** Place on the guide sensor, px from its centre: x along its width, y along its height. */
export function placeOnSensor(x, y, standsAt, rig) {
  const [sin, cos] = [Math.sin(standsAt * RAD), Math.cos(standsAt * RAD)];
  const outwards = x * sin + y * cos - rig.usable.stem_radius_mm;
  const left = x * cos - y * sin;
  const [across, up] = rig.guide_width_along_stem ? [outwards, left] : [-left, outwards];
  return [across / rig.guide_pixel_mm, up / rig.guide_pixel_mm];
}

/** Outlines about a pointing: centres and conjugate half-diameters, mm. */
export function planeOutlines(outlines, ra0, dec0, focal) {
  return outlines.map((one) => {
    const [c, a, b, e, f] = one.points_deg.map(([ra, dec]) => planeMm(ra, dec, ra0, dec0, focal));
    const half = (from, to) => [(from[0] - to[0]) / 2, (from[1] - to[1]) / 2];
    return { name: one.name, round: one.round, centre: c, major: half(a, b), minor: half(e, f) };
  });
}

/** By how much everything fits the frame at a camera angle, mm; negative where something is cut off. */
export function frameRoom(outlines, rig, camera) {
  const [sin, cos] = [Math.sin(camera * RAD), Math.cos(camera * RAD)];
  let room = Infinity;
  for (const [dx, dy, size] of [
    [cos, -sin, rig.frame_width_mm],
    [sin, cos, rig.frame_height_mm],
  ]) {
    const half = size / 2 - rig.border_mm;
    for (const one of outlines) {
      const centre = one.centre[0] * dx + one.centre[1] * dy;
      const reach = Math.hypot(one.major[0] * dx + one.major[1] * dy, one.minor[0] * dx + one.minor[1] * dy);
      room = Math.min(room, half - centre - reach, half + centre - reach);
    }
  }
  return room;
}

function edge(outlines, rig, low, high) {
  const inside = frameRoom(outlines, rig, low) >= 0;
  let [a, b] = [low, high];
  for (let n = 0; n < 40; n += 1) {
    const middle = (a + b) / 2;
    if (frameRoom(outlines, rig, middle) >= 0 === inside) a = middle;
    else b = middle;
  }
  return (a + b) / 2;
}

/** Camera angles at which everything fits, on the whole circle. */
export function frameArcs(outlines, rig) {
  const coarse = [];
  for (let angle = 0; angle < 180; angle += FRAME_STEP_DEG) coarse.push(angle);
  const room = coarse.map((angle) => frameRoom(outlines, rig, angle));
  const angles = [...coarse];
  coarse.forEach((angle, n) => {
    const [before, after] = [room.at(n - 1), room[(n + 1) % room.length]];
    const top = room[n] >= before && room[n] >= after && room[n] < 0;
    const bottom = room[n] <= before && room[n] <= after && room[n] >= 0;
    if (top || bottom) for (let k = -20; k <= 20; k += 1) angles.push(wrap360(angle + k * 0.025) % 180);
  });
  const sorted = [...new Set(angles)].sort((a, b) => a - b);
  sorted.push(sorted[0] + 180);
  const fits = sorted.map((angle) => frameRoom(outlines, rig, angle) >= 0);
  if (fits.every(Boolean)) return FULL;
  if (!fits.some(Boolean)) return [];
  const rows = [];
  let start = fits[0] ? sorted[0] : null;
  for (let n = 1; n < sorted.length; n += 1) {
    if (fits[n] === fits[n - 1]) continue;
    const at = edge(outlines, rig, sorted[n - 1], sorted[n]);
    if (fits[n]) start = at;
    else {
      rows.push([start, at]);
      start = null;
    }
  }
  if (start !== null) rows.push([start, sorted.at(-1)]);
  return union(rows.flatMap(([a, b]) => [[a, b], [a + 180, b + 180]]));
}

/** Everything about one target at one pointing that does not depend on the angles. */
export function prepare(target, pose, rig) {
  const [x, y] = [[], []];
  for (let n = 0; n < target.star_mag.length; n += 1) {
    const place = planeMm(target.star_ra_deg[n], target.star_dec_deg[n], pose.ra_deg, pose.dec_deg, rig.focal_mm);
    x.push(place[0]);
    y.push(place[1]);
  }
  const usable = { x: target.usable.map((row) => x[row]), y: target.usable.map((row) => y[row]) };
  const outlines = planeOutlines(target.outlines, pose.ra_deg, pose.dec_deg, rig.focal_mm);
  const sides = !rig.usable ? [] : rig.flips ? ["east", "west"] : ["any"];
  const rings = sides.map((side) => {
    const need = needOf(target, side);
    return { side, needed: need.needed && target.required, reason: need.reason, ...ringOf(usable, side, rig.usable) };
  });
  return { target, pose, x, y, usable, rings, outlines, frame: frameArcs(outlines, rig) };
}

function needOf(target, side) {
  if (side === "any") {
    const asked = target.sides.filter((one) => one.needed);
    const told = asked[0] ?? target.sides.find((one) => one.reason);
    return { needed: asked.length > 0, reason: told?.reason ?? "" };
  }
  return target.sides.find((one) => one.side === side || one.side === "any") ?? { needed: false, reason: "" };
}

/** What the angles make of every target: stars, places, slack, frames, and the sum of it. */
export function evaluate(ready, rig, angles) {
  const places = [];
  const targets = ready.map((one, n) => {
    const camera = angles.camera[n];
    const guider = angles.stem === null ? null : wrap360(camera + angles.stem);
    if (guider !== null) {
      for (const ring of one.rings) {
        const found = chosenStar(ring, guider, rig.tolerance_deg);
        const at = found && found.star;
        const row = found ? one.target.usable[at] : null;
        places.push({
          target: one.target.target,
          index: n,
          side: ring.side,
          needed: ring.needed,
          star: row,
          mag: found ? one.target.star_mag[row] : null,
          px: found ? placeOnSensor(one.usable.x[at], one.usable.y[at], guider + sideTurn(ring.side), rig) : null,
          slack: slackAt(ring.lit, guider),
        });
      }
    }
    return {
      target: one.target.target,
      camera: wrap360(camera),
      guider,
      required: one.target.required,
      waived: one.target.waived,
      framed: contains(one.frame, camera),
      frameSlack: slackAt(one.frame, camera),
    };
  });
  return { places, targets, ...summary(places, targets, rig, angles.stem) };
}

function summary(places, targets, rig, stem) {
  const inside = new Set(targets.filter((one) => one.framed || one.waived).map((one) => one.target));
  const needed = places.filter((one) => one.needed);
  const served = needed.filter((one) => one.star !== null && inside.has(one.target));
  const frames = targets.filter((one) => one.required && !one.waived);
  const framed = frames.filter((one) => one.framed);
  const least = (values, none) => (values.length ? Math.min(...values) : none);
  const frameSlack = least(framed.map((one) => one.frameSlack), NO_LIMIT_DEG);
  const slack = rig.usable ? least(served.map((one) => one.slack), 0) : frameSlack;
  const shadow = stem === null ? NO_LIMIT_DEG : rig.shadow_everywhere ? 0 : slackAt(rig.stem_arcs_deg, stem);
  const complete = served.length === needed.length && framed.length === frames.length;
  return {
    slack,
    frameSlack,
    shadowSlack: shadow,
    served: served.length,
    needed: needed.length,
    framed: framed.length,
    frames: frames.length,
    faintest: served.length ? Math.max(...served.map((one) => one.mag)) : null,
    complete,
    recommended: complete && Math.min(slack, frameSlack, shadow) >= rig.tolerance_deg - ROUNDING_DEG,
  };
}

/** Guider angles at which every needed ring is lit. */
export function together(ready) {
  const needed = ready.flatMap((one) => one.rings.filter((ring) => ring.needed));
  return needed.length ? needed.map((ring) => ring.lit).reduce(common, FULL) : [];
}
