// Where the pencil's point goes. Ends, centres and crossings of the same view attract it first; otherwise each coordinate by itself
// goes to the nearest of a grid line and the lines projected over from the other two views: width between front and top,
// height between front and right, depth between top and right by way of the 45-degree miter line.

import { boxOf, crossings, keyPoints, tidy } from "./shapes.js";
import { viewAt } from "./sheet.js";

/** The grids to choose from; steps in millimetres, with the unit that goes with each. */
export const GRIDS = {
  "5mm": { step: 5, fine: 1, unit: "mm", bold: 10 },
  "10mm": { step: 10, fine: 1, unit: "mm", bold: 50 },
  "1/4in": { step: 6.35, fine: 1.5875, unit: "in", bold: 25.4 },
  "1/2in": { step: 12.7, fine: 1.5875, unit: "in", bold: 25.4 },
};

// Places closer than this are one place: a hundredth of a millimetre is finer than any pencil.
const SAME = 0.01;

const referred = new WeakMap();

/** The points of each view that other views refer to: `{front, top, right}`, remembered per list of lines. */
function pointsOf(sheet) {
  let points = referred.get(sheet.lines);
  if (!points) {
    points = { front: [], top: [], right: [] };
    for (const line of sheet.lines) {
      if (line.view && line.type !== "border" && line.type !== "dimension") points[line.view].push(...keyPoints(line));
    }
    referred.set(sheet.lines, points);
  }
  return points;
}

/** How a point of one view shows in another: the coordinate it fixes there, as `["x" | "y", value]`, or null. */
function carried(sheet, from, to, [x, y]) {
  const pair = `${from}-${to}`;
  const [fx, fy] = sheet.fold;
  switch (pair) {
    case "front-top":
    case "top-front": return ["x", x];
    case "front-right":
    case "right-front": return ["y", y];
    case "top-right": return ["x", tidy(y - fy + fx)];
    case "right-top": return ["y", tidy(x - fx + fy)];
    default: return null;
  }
}

/** The coordinates that the other views fix in a view: `{x: [{at, view, from}], y: […]}`. */
export function projected(sheet, view) {
  const found = { x: [], y: [] };
  if (!view) return found;
  const points = pointsOf(sheet);
  for (const other of ["front", "top", "right"]) {
    if (other === view) continue;
    for (const from of points[other]) {
      const [axis, at] = carried(sheet, other, view, from);
      found[axis].push({ at, view: other, from });
    }
  }
  return found;
}

/** The place a pointer means: `{at, what}`, `what` being `end`, `crossing`, `projected` or `grid`; `reach` in millimetres. */
export function snapped(sheet, raw, { grid, reach, fine = false }) {
  const view = viewAt(sheet, raw);
  if (!fine) {
    // Never from farther than the next grid line: where the sheet is small on the screen, ends would keep all others away.
    const point = attracted(sheet, view, raw, Math.min(reach, GRIDS[grid].step / 2));
    if (point) return point;
  }
  const step = fine ? GRIDS[grid].fine : GRIDS[grid].step;
  const lines = projected(sheet, view);
  const [x, y] = ["x", "y"].map((axis, i) => coordinate(raw[i], step, fine ? [] : lines[axis], reach));
  return { at: [x.at, y.at], what: x.projected || y.projected ? "projected" : "grid" };
}

/** The next place in a direction for the keyboard's pencil: a grid line, or a projected line or end on the way. */
export function stepped(sheet, [x, y], [dx, dy], { grid, fine = false }) {
  const step = fine ? GRIDS[grid].fine : GRIDS[grid].step;
  const view = viewAt(sheet, [x, y]);
  const lines = projected(sheet, view);
  const own = view ? pointsOf(sheet)[view] : [];
  const next = (from, direction, stops) => {
    if (direction === 0) return from;
    const ahead = direction > 0 ? Math.floor(from / step + 1e-6) + 1 : Math.ceil(from / step - 1e-6) - 1;
    const between = stops.filter((at) => (at - from) * direction > SAME && (ahead * step - at) * direction > SAME);
    return tidy(direction > 0 ? Math.min(ahead * step, ...between) : Math.max(ahead * step, ...between));
  };
  const stops = (axis, i) => (fine ? [] : [...lines[axis].map((l) => l.at), ...own.map((p) => p[i])]);
  return [next(x, dx, stops("x", 0)), next(y, dy, stops("y", 1))];
}

/** Thin lines that show from which points of the other views a place was projected over: lists of points. */
export function guides(sheet, at) {
  const view = viewAt(sheet, at);
  const lines = projected(sheet, view);
  return ["x", "y"].flatMap((axis, i) => {
    const hits = lines[axis].filter((line) => Math.abs(line.at - at[i]) < SAME);
    const nearest = hits.reduce((best, hit) => (best && away(best, at) <= away(hit, at) ? best : hit), null);
    return nearest ? [course(sheet, view, nearest, at)] : [];
  });
}

/** The line on which a point is, the topmost first, or -1. */
export function lineNear(sheet, at, reach, distance) {
  let best = -1;
  let least = reach;
  sheet.lines.forEach((line, i) => {
    const [left, bottom, right, top] = boxOf(line);
    if (at[0] < left - reach || at[0] > right + reach || at[1] < bottom - reach || at[1] > top + reach) return;
    const far = distance(line, at);
    if (far <= least) [best, least] = [i, far];
  });
  return best;
}

function attracted(sheet, view, raw, reach) {
  const near = sheet.lines.filter((line) => {
    const [left, bottom, right, top] = boxOf(line);
    return line.view === view && raw[0] > left - reach && raw[0] < right + reach && raw[1] > bottom - reach && raw[1] < top + reach;
  });
  const end = nearestOf(near.flatMap(keyPoints), raw, reach);
  if (end) return { at: end.map(tidy), what: "end" };
  // A crowd of lines under the pointer is not worth the wait: every pair would be tried.
  if (near.length > 60) return null;
  const crossing = nearestOf(near.flatMap((a, i) => near.slice(i + 1).flatMap((b) => crossings(a, b))), raw, reach);
  return crossing && { at: crossing, what: "crossing" };
}

function nearestOf(points, [x, y], reach) {
  let best = null;
  let least = reach;
  for (const point of points) {
    const far = Math.hypot(point[0] - x, point[1] - y);
    if (far < least) [best, least] = [point, far];
  }
  return best;
}

function coordinate(value, step, lines, reach) {
  const onGrid = tidy(Math.round(value / step) * step);
  let best = { at: onGrid, projected: false };
  let least = Math.abs(value - onGrid);
  for (const line of lines) {
    const far = Math.abs(line.at - value);
    if (far < least - SAME && far < reach) [best, least] = [{ at: tidy(line.at), projected: true }, far];
  }
  return best;
}

function away(line, at) {
  return Math.hypot(line.from[0] - at[0], line.from[1] - at[1]);
}

function course(sheet, view, { view: other, from }, at) {
  const [fx, fy] = sheet.fold;
  if (other === "top" && view === "right") return [from, [from[1] - fy + fx, from[1]], at];
  if (other === "right" && view === "top") return [from, [from[0], from[0] - fx + fy], at];
  return [from, at];
}
