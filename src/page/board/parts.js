// A line in parts, as an eraser takes it: from one place to the next where an edge of the view crosses the line, touches it
// or ends on it. Center lines and the like cut nothing. A place on a line is told by how far along it is: in millimetres on
// straight lines, in degrees on round ones.

import { boxOf, chain, crossings, distance, ends, round, sweepOf, tidy } from "./shapes.js";

// Places nearer than this, in millimetres, are one place.
const SAME = 0.01;

/**
 * The part of a line on which a place lies, and what stays of the line without it, as `{part, rest}`. All of the line where
 * nothing divides it; sampled curves are never divided.
 */
export function partAt(sheet, index, at) {
  const line = sheet.lines[index];
  const nodes = line.curve ? [] : nodesOf(sheet, line);
  const r = round(line);
  if (nodes.length < (r && r.sweep >= 360 ? 2 : 1)) return { part: line, rest: [] };
  return r ? roundPart(line, r, nodes, at) : straightPart(line, nodes, at);
}

/** Places that divide a line, each once; its own ends are not among them. */
function nodesOf(sheet, line) {
  const others = sheet.lines.filter((other) => other !== line && other.view === line.view && bearsGeometry(other) && meet(line, other));
  const touching = others.flatMap(ends).filter((end) => liesOn(line, end));
  const own = ends(line);
  const corners = line.polyline?.slice(1, -1) ?? [];
  const nodes = [];
  for (const node of [...others.flatMap((other) => crossings(line, other)), ...touching, ...corners]) {
    if ([...own, ...nodes].every((known) => apart(node, known) > SAME)) nodes.push(node);
  }
  return nodes;
}

function bearsGeometry({ type }) {
  return type === "visible" || type === "hidden";
}

/** Whether a point lies on a line: a round one is asked itself, for its sampled points are not fine enough. */
function liesOn(line, point) {
  const r = round(line);
  if (!r) return distance(line, point) < SAME;
  const { angle, share } = polar(r, point);
  return Math.abs(share - 1) * Math.min(r.rx, r.ry) < SAME && (r.sweep >= 360 || sweepOf(r.start, angle) <= r.sweep);
}

function meet(a, b) {
  const [p, q] = [boxOf(a), boxOf(b)];
  return [0, 1].every((i) => p[i] <= q[i + 2] + SAME && q[i] <= p[i + 2] + SAME);
}

function straightPart(line, nodes, at) {
  const points = chain(line);
  const starts = [0];
  points.slice(1).forEach((p, i) => starts.push(starts[i] + apart(points[i], p)));
  const long = starts.at(-1);
  const along = (place) => alongChain(points, starts, place);
  const [from, to] = between([0, ...nodes.map(along), long], along(at));
  const piece = (low, high) => {
    const inner = points.filter((_, i) => starts[i] > low + SAME && starts[i] < high - SAME);
    const all = [pointAt(points, starts, low), ...inner, pointAt(points, starts, high)];
    return shaped(line, all.length === 2 ? { line: all.flat() } : { polyline: all });
  };
  const rest = [[0, from], [to, long]].filter(([low, high]) => high > low);
  return { part: piece(from, to), rest: rest.map(([low, high]) => piece(low, high)) };
}

function roundPart(line, r, nodes, at) {
  const whole = r.sweep >= 360;
  const along = (place) => sweepOf(r.start, polar(r, place).angle) % 360;
  // Round and round: the part around the beginning of a whole circle goes from the last node to the first.
  const angles = nodes.map(along).sort((a, b) => a - b);
  const bounds = whole ? [angles.at(-1) - 360, ...angles, angles[0] + 360] : [0, ...angles, r.sweep];
  // A place just before an arc's beginning is almost once round it.
  const here = along(at);
  const [from, to] = between(bounds, whole || 2 * here < r.sweep + 360 ? here : 0);
  const piece = (low, high) => {
    const angles = [r.start + low, r.start + high].map((angle) => tidy(((angle % 360) + 360) % 360));
    return shaped(line, line.circle || line.arc
      ? { arc: [r.cx, r.cy, r.rx, ...angles] }
      : { elliptical_arc: [r.cx, r.cy, r.rx, r.ry, r.turn, ...angles] });
  };
  const rest = whole ? [[to, from + 360]] : [[0, from], [to, r.sweep]];
  const left = rest.filter(([low, high]) => high > low);
  return { part: piece(from, to), rest: left.map(([low, high]) => piece(low, high)) };
}

/** The two neighbours among bounds between which a value lies. */
function between(bounds, value) {
  const sorted = [...bounds].sort((a, b) => a - b);
  const above = sorted.findIndex((bound, i) => i > 0 && bound > value);
  // At the very end of a line there is nothing above.
  const i = above < 0 ? sorted.length - 1 : above;
  return [sorted[i - 1], sorted[i]];
}

/** A line like another, with a shape of its own. */
function shaped({ view, type }, shape) {
  return { ...(view && { view }), type, ...shape };
}

function alongChain(points, starts, place) {
  let best = [Infinity, 0];
  for (let i = 1; i < points.length; i++) {
    const [[ax, ay], [bx, by]] = [points[i - 1], points[i]];
    const long = starts[i] - starts[i - 1];
    const share = long && ((place[0] - ax) * (bx - ax) + (place[1] - ay) * (by - ay)) / (long * long);
    const t = Math.max(0, Math.min(1, share));
    const far = apart(place, [ax + t * (bx - ax), ay + t * (by - ay)]);
    if (far < best[0]) best = [far, starts[i - 1] + t * long];
  }
  return best[1];
}

function pointAt(points, starts, along) {
  const i = Math.max(1, starts.findIndex((start) => start >= along - SAME));
  const [a, b] = [points[i - 1], points[i]];
  const t = (along - starts[i - 1]) / (starts[i] - starts[i - 1]);
  return [0, 1].map((k) => tidy(a[k] + t * (b[k] - a[k])));
}

/** Where a point is as seen by a round shape: its own angle, before the turn, and how many radii away. */
function polar(r, [x, y]) {
  const [c, s] = [Math.cos((r.turn * Math.PI) / 180), Math.sin((r.turn * Math.PI) / 180)];
  const [dx, dy] = [x - r.cx, y - r.cy];
  const [u, v] = [(dx * c + dy * s) / r.rx, (dy * c - dx * s) / r.ry];
  return { angle: (Math.atan2(v, u) * 180) / Math.PI, share: Math.hypot(u, v) };
}

function apart(p, q) {
  return Math.hypot(p[0] - q[0], p[1] - q[1]);
}
