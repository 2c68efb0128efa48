// The smallest corrections as a list of buttons: pointing at one or reaching it by key previews it on the sheet, pressing
// applies it. A change names a stretch of line on the sheet; drawn lines that only partly lie on it are cut at its ends.

import { make } from "./dom.js";
import { chain, distance, round, sampled, shapeOf, sweepOf } from "./shapes.js";
import { fromJson, lineFromAnswer, withLines } from "./sheet.js";
import { hasWords, lineInWords, placeInWords, say } from "./words.js";

const SAME = 0.05;

/** The list of corrections; calls `onPreview(changes | null)` and `onApply(mend)`. */
export class MendList {
  #root;
  #events;

  constructor(root, events) {
    [this.#root, this.#events] = [root, events];
  }

  /** Shows that corrections are being looked for. */
  wait() {
    this.#root.replaceChildren(make("p", { className: "quiet" }, say("mendsLooking")));
  }

  /** Empties the list. */
  clear() {
    this.#root.replaceChildren();
  }

  /** Shows corrections for a sheet, as they came from the engine. */
  show(sheet, mends) {
    if (mends.length === 0) {
      this.#root.replaceChildren(make("p", { className: "quiet" }, say("mendsNone")));
      return;
    }
    const items = mends.map((mend) => make("li", {}, this.#button(sheet, mend)));
    this.#root.replaceChildren(make("p", { className: "quiet" }, say("mendsIntro")), make("ol", {}, ...items));
  }

  #button(sheet, mend) {
    const outcome = hasWords(`mend.${mend.verdict}`) ? say(`mend.${mend.verdict}`) : "";
    const numbered = mend.changes.length > 1;
    const words = mend.changes.map((change, i) => (
      make("span", {}, numbered ? `${i + 1}. ` : "", `${capital(inWords(change, sheet.unit))} `)
    ));
    const button = make("button", { type: "button", className: "mend" }, ...words, make("small", {}, outcome));
    for (const on of ["pointerenter", "focus"]) button.addEventListener(on, () => this.#events.onPreview(mend.changes));
    for (const off of ["pointerleave", "blur"]) button.addEventListener(off, () => this.#events.onPreview(null));
    button.addEventListener("click", () => this.#events.onApply(mend));
    return button;
  }
}

/** The sheet after a correction: the engine's own if it sends one along, else with the changes made here. */
export function mended(sheet, { changes, sheet: whole }) {
  if (whole) return { ...fromJson(whole), fold: sheet.fold };
  let lines = sheet.lines;
  for (const change of changes) {
    const line = lineOf(sheet, change);
    if (change.do === "add") lines = [...lines, line];
    if (change.do === "remove") lines = without(lines, line);
    if (change.do === "retype") lines = [...without(lines, line), line];
    if (change.do === "move") lines = [...without(lines, lineOf(sheet, was(change))), line];
  }
  return withLines(sheet, lines);
}

/** Marks that show changes on the sheet: what comes and what goes. */
export function previewOf(sheet, changes) {
  return changes.flatMap((change, i) => {
    const tag = changes.length > 1 ? String(i + 1) : undefined;
    const line = lineOf(sheet, change);
    if (change.do === "move") {
      return [{ line: lineOf(sheet, was(change)), kind: "goes" }, { line, kind: "comes", tag }];
    }
    return [{ line, kind: change.do === "remove" ? "goes" : "comes", tag }];
  });
}

/** A change with the line as it was before. */
function was(change) {
  return change.before ? { ...change, ...shapesOff(change), ...change.before } : change;
}

/** A change's line as the page keeps lines. */
function lineOf(sheet, change) {
  const name = shapeOf(change);
  return lineFromAnswer(sheet, { view: change.view, type: change.type ?? "visible", [name]: change[name] });
}

/** Lines with a stretch taken out of those that lie along it. */
function without(lines, stretch) {
  return lines.flatMap((line) => {
    if (line.view !== stretch.view) return [line];
    if (round(line) || round(stretch)) return sameRound(line, stretch) ? [] : [line];
    if (line.curve || stretch.curve) return JSON.stringify(line) === JSON.stringify(stretch) ? [] : [line];
    return cutChain(line, chain(stretch));
  });
}

function sameRound(a, b) {
  const [p, q] = [round(a), round(b)];
  if (!p || !q) return false;
  const near = ["cx", "cy", "rx", "ry"].every((key) => Math.abs(p[key] - q[key]) < SAME);
  // A drawn arc counts as part of the stretch if its own middle lies on it.
  const middle = sampled(a)[Math.floor(sampled(a).length / 2)];
  return near && (sweepOf(0, q.sweep) >= 360 || distance(b, middle) < SAME);
}

/** The pieces of a chain of straight lines that lie outside of a stretch. */
function cutChain(line, stretch) {
  const pieces = [];
  const points = chain(line);
  let touched = false;
  for (let i = 1; i < points.length; i++) {
    const rest = cutStraight(points[i - 1], points[i], stretch);
    touched ||= rest.length !== 1 || rest[0][0] !== points[i - 1] || rest[0][1] !== points[i];
    pieces.push(...rest);
  }
  if (!touched) return [line];
  return pieces.map(([a, b]) => ({ view: line.view, type: line.type, line: [...a, ...b] }));
}

function cutStraight(a, b, stretch) {
  const long = Math.hypot(b[0] - a[0], b[1] - a[1]);
  const [ux, uy] = [(b[0] - a[0]) / long, (b[1] - a[1]) / long];
  let rest = [[a, b]];
  for (let i = 1; i < stretch.length; i++) {
    const ends = [stretch[i - 1], stretch[i]];
    const offside = ends.some(([x, y]) => Math.abs((x - a[0]) * uy - (y - a[1]) * ux) > SAME);
    if (offside) continue;
    const along = ends.map(([x, y]) => (x - a[0]) * ux + (y - a[1]) * uy);
    const [low, high] = [Math.min(...along), Math.max(...along)];
    rest = rest.flatMap(([p, q]) => outside(p, q, low, high, { a, ux, uy }));
  }
  return rest;
}

function outside(p, q, low, high, { a, ux, uy }) {
  const at = (point) => (point[0] - a[0]) * ux + (point[1] - a[1]) * uy;
  const point = (t) => [a[0] + t * ux, a[1] + t * uy];
  if (high <= at(p) + SAME || low >= at(q) - SAME) return [[p, q]];
  const pieces = [];
  if (low > at(p) + SAME) pieces.push([p, point(low)]);
  if (high < at(q) - SAME) pieces.push([point(high), q]);
  return pieces;
}

function inWords(change, unit) {
  const { do: action, type } = change;
  if (action === "retype") return say("do.retype", { line: lineInWords(change, unit, ""), type: say(`lower.${type}`) });
  const line = lineInWords(was(change), unit);
  return say(`do.${action}`, { line, to: placeInWords(change, unit) });
}

/** Takes the shape off a change, so that another can be put in its place. */
function shapesOff(change) {
  return { [shapeOf(change)]: undefined };
}

function capital(text) {
  return text[0].toUpperCase() + text.slice(1);
}
