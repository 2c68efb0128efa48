// The drawing as data: unit, projection, the corner where the fold lines cross, and lines. A sheet never changes; every
// change makes a new one that shares its lines with the old, so that undoing is going back to an older sheet. Inside the
// page everything is in millimetres; the sheet's own unit counts only where a sheet comes in or goes out.

import { SHAPES, boxAround, boxOf, moved, scaled, shapeOf, tidy } from "./shapes.js";

/** The three views. */
export const VIEWS = ["front", "top", "right"];

/** The pencils, hardest precedence first. */
export const PENCILS = ["visible", "hidden", "center"];

/** What a line can be. Only the first two describe the object. */
export const TYPES = ["visible", "hidden", "center", "phantom", "dimension", "construction", "border"];

/** What a sheet may take for granted, in the engine's words; the first of each is the usual. */
export const RULES = {
  hidden_lines: ["required", "optional"],
  tangent_edges: ["omitted", "drawn", "either"],
};

const MM_PER = { mm: 1, in: 25.4 };
const PAPER = { mm: [297, 210], in: [279.4, 215.9] };
const FOLD = { mm: [150, 100], in: [139.7, 101.6] };
const MOST_LINES = 20000;
const FARTHEST = 1e6;

/** A sheet with nothing on it. */
export function emptySheet(unit = "mm", projection = "third-angle", rules = usualRules()) {
  return { unit, projection, rules, fold: FOLD[unit], lines: [] };
}

/** The rules of most sheets. */
export function usualRules() {
  return checkedRules({});
}

/** The sheet with other lines. */
export function withLines(sheet, lines) {
  return { ...sheet, lines };
}

/** The view in whose area a point lies, or null beside the miter line. */
export function viewAt(sheet, [x, y]) {
  const third = sheet.projection === "third-angle";
  const left = x < sheet.fold[0];
  const below = y < sheet.fold[1];
  const byFront = left === third;
  const levelWithFront = below === third;
  if (byFront) return levelWithFront ? "front" : "top";
  return levelWithFront ? "right" : null;
}

/** The area of a view on the paper, `[left, bottom, right, top]`; of the miter line for null. */
export function areaOf(sheet, view) {
  const [left, bottom, right, top] = paperOf(sheet);
  const [fx, fy] = sheet.fold;
  const third = sheet.projection === "third-angle";
  const byFront = view === "front" || view === "top";
  const levelWithFront = view === "front" || view === "right";
  const [x1, x2] = byFront === third ? [left, fx] : [fx, right];
  const [y1, y2] = levelWithFront === third ? [bottom, fy] : [fy, top];
  return [x1, y1, x2, y2];
}

/** The paper: the usual sheet, or larger if the drawing is, `[left, bottom, right, top]`. */
export function paperOf(sheet) {
  const [wide, high] = PAPER[sheet.unit];
  const box = boxOfLines(sheet.lines);
  const margin = 15;
  return [
    Math.min(0, Math.floor(box[0] - margin)),
    Math.min(0, Math.floor(box[1] - margin)),
    Math.max(wide, Math.ceil(box[2] + margin)),
    Math.max(high, Math.ceil(box[3] + margin)),
  ];
}

/** The box around what describes the object, in one view or in several; inside out if there is nothing. */
export function extent(sheet, ...views) {
  return boxOfLines(sheet.lines.filter((l) => views.includes(l.view) && (l.type === "visible" || l.type === "hidden")));
}

/** The sheet with its views where the other projection puts them; widths, heights and depths stay lined up. */
export function inProjection(sheet, projection) {
  if (projection === sheet.projection) return sheet;
  const [fx, fy] = sheet.fold;
  const across = (box) => (box[0] <= box[2] ? 2 * fx - box[0] - box[2] : 0);
  const up = (box) => (box[1] <= box[3] ? 2 * fy - box[1] - box[3] : 0);
  const all = (...views) => boxOfLines(sheet.lines.filter((line) => views.includes(line.view)));
  const x = { front: across(all("front", "top")), right: across(all("right")) };
  const y = { front: up(all("front", "right")), top: up(all("top")) };
  const shift = { front: [x.front, y.front], top: [x.front, y.top], right: [x.right, y.front] };
  const lines = sheet.lines.map((line) => (line.view ? moved(line, ...shift[line.view]) : line));
  return { ...sheet, projection, lines };
}

/** What the page keeps of a sheet for itself, beside the shared format: where the fold lines cross, and the rules. */
export function toOwnJson(sheet) {
  return { ...toJson(sheet), fold: sheet.fold, rules: sheet.rules };
}

/** The sheet in the format all programs of the project share: in its own unit, every line with view and type. */
export function toJson(sheet) {
  const factor = 1 / MM_PER[sheet.unit];
  return { unit: sheet.unit, projection: sheet.projection, lines: sheet.lines.map((line) => scaled(line, factor)) };
}

/** A line from an answer, in the sheet's unit, as the page keeps it. */
export function lineFromAnswer(sheet, line) {
  return scaled(line, MM_PER[sheet.unit]);
}

/** A place from an answer, in the sheet's unit, in millimetres. */
export function placeFromAnswer(sheet, at) {
  return at.map((value) => value * MM_PER[sheet.unit]);
}

/** Millimetres as a length in the sheet's unit, with the unit. */
export function inUnit(sheet, mm) {
  const value = mm / MM_PER[sheet.unit];
  return `${Math.round(value * 1000) / 1000 + 0} ${sheet.unit}`;
}

/**
 * A sheet from data that anyone may have made. Throws an `Error` whose message is a key of the words for what is wrong.
 * Lines that say no view get the one in whose area they stand.
 */
export function fromJson(data) {
  if (typeof data !== "object" || data === null || !Array.isArray(data.lines)) throw new Error("noSheet");
  if (data.lines.length > MOST_LINES) throw new Error("tooManyLines");
  const unit = data.unit ?? "mm";
  if (!Object.hasOwn(MM_PER, unit)) throw new Error("noSheet");
  const projection = data.projection === "first-angle" ? "first-angle" : "third-angle";
  const lines = data.lines.map((line) => scaled(checkedLine(line), MM_PER[unit]));
  const fold = checkedFold(data.fold) ?? foldFor(lines, projection) ?? FOLD[unit];
  const sheet = { unit, projection, rules: checkedRules(data.rules), fold, lines };
  sheet.lines = lines.map((line) => (line.view ? line : { ...line, view: viewAt(sheet, boxOf(line)) ?? "front" }));
  return sheet;
}

/** The fold corner that goes with views drawn elsewhere: amid the narrower gap, so that the miter line carries depth rightly. */
function foldFor(lines, projection) {
  const box = Object.fromEntries(VIEWS.map((view) => [view, extent({ lines }, view)]));
  if (VIEWS.some((view) => box[view][0] > box[view][2])) return null;
  const { front, top, right } = box;
  if (projection === "third-angle") {
    const gap = Math.min(right[0] - Math.max(front[2], top[2]), top[1] - Math.max(front[3], right[3])) / 2;
    return gap > 0 ? [tidy(right[0] - gap), tidy(top[1] - gap)] : null;
  }
  const gap = Math.min(Math.min(front[0], top[0]) - right[2], Math.min(front[1], right[1]) - top[3]) / 2;
  return gap > 0 ? [tidy(right[2] + gap), tidy(top[3] + gap)] : null;
}

/** Rules from data that anyone may have made; the usual ones where it says nothing or nonsense. */
function checkedRules(rules) {
  return Object.fromEntries(Object.entries(RULES).map(([name, words]) => [name, words.find((word) => word === rules?.[name]) ?? words[0]]));
}

function checkedFold(fold) {
  return isNumbers(fold, 2) ? [...fold] : null;
}

function boxOfLines(lines) {
  return boxAround(lines.flatMap((line) => {
    const [left, bottom, right, top] = boxOf(line);
    return [[left, bottom], [right, top]];
  }));
}

const NUMBERS = { line: 4, circle: 3, arc: 5, ellipse: 5, elliptical_arc: 7 };

function checkedLine(line) {
  if (typeof line !== "object" || line === null) throw new Error("noSheet");
  const type = line.type ?? "visible";
  const view = line.view ?? undefined;
  const names = SHAPES.filter((name) => line[name] !== undefined);
  if (!TYPES.includes(type) || (view && !VIEWS.includes(view)) || names.length !== 1) throw new Error("badLine");
  const name = shapeOf(line);
  const value = line[name];
  if (!isShape(name, value)) throw new Error("badLine");
  return { ...(view && { view }), type, [name]: value };
}

function isShape(name, value) {
  if (name === "polyline" || name === "curve") {
    return Array.isArray(value) && value.length >= 2 && value.length <= 5000 && value.every((p) => isNumbers(p, 2));
  }
  if (!isNumbers(value, NUMBERS[name])) return false;
  if (name === "line") return true;
  return value[2] > 0 && (!name.startsWith("ellip") || value[3] > 0);
}

function isNumbers(value, count) {
  return Array.isArray(value) && value.length === count
    && value.every((n) => typeof n === "number" && Number.isFinite(n) && Math.abs(n) <= FARTHEST);
}
