// What the pencil does, as a small machine that knows neither mouse nor keys: both tell it places (`hover`, `press`,
// `release`), and it makes strokes of them. A stroke can be dragged, or set point by point; the arc turns the way the
// pencil went round.

import { boxOf, chain, distance, keyPoints, moved, size, sweepOf, tidy } from "./shapes.js";
import { partAt } from "./parts.js";
import { inUnit, viewAt, withLines } from "./sheet.js";
import { guides, lineNear, snapped } from "./snap.js";
import { say } from "./words.js";

/** How many points each shape takes. */
const POINTS = { line: 2, circle: 2, arc: 3, ellipse: 3 };

/** The pencil and what it does; calls `onDraft` with what to show and `onNotice` with words. */
export class Tools {
  pencil = "visible";
  tool = "line";
  grid = "5mm";
  /** Whether erasing and changing the type take only the part of a line between two crossings. */
  parts = false;
  #history;
  #events;
  #points = [];
  #turned = 0;
  #held = null;

  constructor(history, events) {
    this.#history = history;
    this.#events = events;
  }

  /** Whether a stroke is begun or a line picked up. */
  get busy() {
    return this.#points.length > 0 || this.#held !== null;
  }

  /** Chooses what the pencil does: a shape, or `retype`, `move`, `erase`. */
  choose(tool) {
    this.cancel();
    this.tool = tool;
  }

  /** The pencil is over a place; `how` is `{reach, fine, exact}`, reach in millimetres. */
  hover(raw, how) {
    if (this.#held) return this.#show(this.#dragged(raw, how));
    if (!POINTS[this.tool]) return this.#showTarget(raw, how);
    const spot = this.#spot(raw, how);
    this.#followTurn(spot.at);
    const line = this.#lineTo(spot.at);
    this.#show({ lines: line ? [line] : [], at: spot.at, what: spot.what, label: this.#measure(line, spot.at) });
  }

  /** The pencil is set down. */
  press(raw, how) {
    if (this.#held) return this.#drop(raw, how);
    if (POINTS[this.tool]) return this.#add(this.#spot(raw, how).at);
    const index = lineNear(this.#sheet, raw, how.reach, distance);
    if (index < 0) return this.#events.onNotice(say("notice.noLine"));
    if (this.tool === "erase") this.eraseLine(index, raw);
    if (this.tool === "retype") this.retypeLine(index, raw);
    if (this.tool === "move") this.#pick(index, raw, how);
  }

  /** The pencil is lifted after being dragged. */
  release(raw, how) {
    if (this.#held) return this.#drop(raw, how);
    if (this.#points.length > 0) this.#add(this.#spot(raw, how).at);
  }

  /** Gives up the stroke; says whether there was one. */
  cancel() {
    const was = this.busy;
    this.#points = [];
    this.#held = null;
    this.#events.onDraft(null);
    return was;
  }

  /** Takes a line off the sheet, or the part of it at a place. */
  eraseLine(index, at) {
    const { rest } = this.#taken(index, at);
    this.#replace(index, rest);
    this.#events.onNotice(say(rest.length ? "notice.erasedPart" : "notice.erased"));
  }

  /** Draws a line over with the present pencil, or the part of it at a place. */
  retypeLine(index, at) {
    const { part, rest } = this.#taken(index, at);
    this.#replace(index, [...rest, { ...part, type: this.pencil }]);
    this.#events.onNotice(say(rest.length ? "notice.retypedPart" : "notice.retyped", { type: say(`lower.${this.pencil}`) }));
  }

  /** What a tool takes of a line at a place, and what it leaves. */
  #taken(index, at) {
    return this.parts ? partAt(this.#sheet, index, at) : { part: this.#sheet.lines[index], rest: [] };
  }

  #replace(index, lines) {
    this.#change(this.#sheet.lines.flatMap((line, i) => (i === index ? lines : [line])));
  }

  get #sheet() {
    return this.#history.sheet;
  }

  #change(lines) {
    this.#history.put(withLines(this.#sheet, lines));
  }

  #spot(raw, how) {
    return how.exact ? { at: raw, what: "grid" } : snapped(this.#sheet, raw, { grid: this.grid, ...how });
  }

  #add(at) {
    const last = this.#points.at(-1);
    if (!last && !viewAt(this.#sheet, at)) return this.#events.onNotice(say("notice.betweenViews"));
    if (last && Math.hypot(at[0] - last[0], at[1] - last[1]) < 1e-6) return void this.cancel();
    if (this.tool === "line" && last && viewAt(this.#sheet, nudged(at, last)) !== viewAt(this.#sheet, nudged(last, at))) {
      return this.#events.onNotice(say("notice.leavesView"));
    }
    this.#followTurn(at);
    if (this.#points.length + 1 < POINTS[this.tool]) {
      this.#points.push(at);
      this.#turned = 0;
      this.#show({ lines: [], at, what: "grid" });
      return this.#events.onNotice(say(`notice.next.${this.tool}.${this.#points.length}`));
    }
    const line = this.#lineTo(at);
    this.#points = [];
    this.#events.onDraft(null);
    if (!line) return;
    this.#change([...this.#sheet.lines, line]);
    const words = { type: say(`lower.${line.type}`), view: say(`lower.${line.view}`), size: this.#measure(line, at) };
    this.#events.onNotice(say("notice.drawn", words));
  }

  /** The line that the points so far and one more make; null if that is none yet. */
  #lineTo(at) {
    if (this.#points.length === 0) return null;
    const [first, second] = this.#points;
    const view = viewAt(this.#sheet, second && this.tool === "line" ? second : nudged(first, at));
    const shape = shapeThrough(this.tool, first, second, at, this.#turned);
    return shape && { view, type: this.pencil, ...shape };
  }

  /** Adds up how far the pencil has gone round an arc's centre, so that a three-quarter arc can be drawn. */
  #followTurn(at) {
    if (this.tool !== "arc" || this.#points.length !== 2) return;
    const [center, start] = this.#points;
    const now = angle(center, at) - angle(center, start);
    const step = (((now - this.#turned) % 360) + 540) % 360 - 180;
    this.#turned = Math.max(-359, Math.min(359, this.#turned + (step === -180 ? 180 : step)));
  }

  #measure(line, at) {
    if (!line) return "";
    const sheet = this.#sheet;
    if (line.circle) return say("measure.circle", { r: inUnit(sheet, line.circle[2]) });
    if (line.arc) return say("measure.arc", { r: inUnit(sheet, line.arc[2]), angle: Math.round(sweepOf(line.arc[3], line.arc[4])) });
    if (line.ellipse) return say("measure.ellipse", { a: inUnit(sheet, line.ellipse[2]), b: inUnit(sheet, line.ellipse[3]) });
    const [x1, y1, x2, y2] = line.line;
    const [dx, dy] = [Math.abs(x2 - x1), Math.abs(y2 - y1)];
    if (dx < 1e-6 || dy < 1e-6) return inUnit(sheet, size(line));
    return say("measure.line", { long: inUnit(sheet, size(line)), across: inUnit(sheet, dx), up: inUnit(sheet, dy) });
  }

  #show(draft) {
    this.#events.onDraft({ ...draft, guides: draft.at ? guides(this.#sheet, draft.at) : [] });
  }

  #showTarget(raw, how) {
    const index = lineNear(this.#sheet, raw, how.reach, distance);
    const whole = this.tool === "move";
    const target = index < 0 ? null : whole ? this.#sheet.lines[index] : this.#taken(index, raw).part;
    this.#events.onDraft({ target, kind: this.tool });
  }

  /** Picks a line up by its key point nearest to the pencil; at an end of a straight line, only that end. */
  #pick(index, raw, { reach }) {
    const line = this.#sheet.lines[index];
    const away = (p) => Math.hypot(p[0] - raw[0], p[1] - raw[1]);
    const handle = keyPoints(line).reduce((best, p) => (away(p) < away(best) ? p : best));
    const end = line.line && away(handle) < reach ? chain(line).findIndex((p) => String(p) === String(handle)) : -1;
    this.#held = { index, line, handle, offset: [handle[0] - raw[0], handle[1] - raw[1]], end };
    this.#events.onNotice(say(end < 0 ? "notice.picked" : "notice.pickedEnd"));
  }

  #dragged(raw, how) {
    const { index, line, handle, offset, end } = this.#held;
    const rest = withLines(this.#sheet, this.#sheet.lines.filter((_, i) => i !== index));
    const aim = [raw[0] + offset[0], raw[1] + offset[1]];
    const at = how.exact ? aim : snapped(rest, aim, { grid: this.grid, ...how }).at;
    const to = end < 0 ? moved(line, at[0] - handle[0], at[1] - handle[1]) : withEnd(line, end, at);
    const label = end < 0
      ? say("measure.moved", { across: inUnit(rest, at[0] - handle[0]), up: inUnit(rest, at[1] - handle[1]) })
      : this.#measure(to, at);
    return { lines: [to], at, what: "grid", label, without: line };
  }

  #drop(raw, how) {
    const { index, line } = this.#held;
    const { lines: [to] } = this.#dragged(raw, how);
    this.#held = null;
    this.#events.onDraft(null);
    if (size(to) === 0 || JSON.stringify(to) === JSON.stringify(line)) return;
    const [left, bottom, right, top] = boxOf(to);
    const view = viewAt(this.#sheet, [(left + right) / 2, (bottom + top) / 2]) ?? line.view;
    this.#change(this.#sheet.lines.map((old, i) => (i === index ? { ...to, view } : old)));
    this.#events.onNotice(say("notice.moved"));
  }
}

function shapeThrough(tool, first, second, at, turned) {
  const away = (p, q) => tidy(Math.hypot(p[0] - q[0], p[1] - q[1]));
  if (tool === "line") return { line: [...first, ...at] };
  if (tool === "circle" || !second) {
    const r = away(first, at);
    return r > 0 ? { circle: [...first, r] } : null;
  }
  if (tool === "arc") return arcThrough(first, second, turned);
  const turn = tidy(angle(first, second));
  const [c, s] = [Math.cos((turn * Math.PI) / 180), Math.sin((turn * Math.PI) / 180)];
  const across = tidy(Math.abs((at[1] - first[1]) * c - (at[0] - first[0]) * s));
  return across > 0 ? { ellipse: [...first, away(first, second), across, turn] } : null;
}

function arcThrough(center, start, turned) {
  if (Math.abs(turned) < 1e-6) return null;
  const from = angle(center, start);
  const [low, high] = turned > 0 ? [from, from + turned] : [from + turned, from];
  const r = tidy(Math.hypot(start[0] - center[0], start[1] - center[1]));
  const positive = (degrees) => tidy(((degrees % 360) + 360) % 360);
  return { arc: [...center, r, positive(low), positive(high)] };
}

function angle(center, at) {
  return (Math.atan2(at[1] - center[1], at[0] - center[0]) * 180) / Math.PI;
}

/** A point a little on the way to another: a place on a fold line belongs to the view from which it is drawn. */
function nudged(at, towards) {
  const long = Math.hypot(towards[0] - at[0], towards[1] - at[1]) || 1;
  return [at[0] + (towards[0] - at[0]) * 1e-3 / long, at[1] + (towards[1] - at[1]) * 1e-3 / long];
}

function withEnd(line, end, at) {
  const points = chain(line).map((p, i) => (i === end ? at : p));
  return { ...line, line: points.flat().map(tidy) };
}
