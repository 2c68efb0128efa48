// The sheet of paper as SVG: grid, fold lines, miter line, drawn lines, marks, the stroke being drawn. One SVG unit is one
// millimetre, so that printing at true scale and zooming are only a matter of the view box. Marks are told apart by
// pattern and by their number, never by colour alone.

import { draw } from "./dom.js";
import { boxAround, boxOf, pathData, sampled } from "./shapes.js";
import { VIEWS, areaOf, inUnit, paperOf } from "./sheet.js";
import { GRIDS } from "./snap.js";
import { say } from "./words.js";

const CLOSEST = 30;
// How high the names of the views are: on the screen, as a share of the size of its text; in print, in millimetres.
const TITLE = 1.05;
const PRINTED_TITLE = 4;

/** Shows one sheet in an `<svg>` element. */
export class Paper {
  #svg;
  #layers = {};
  #drawn = new Map();
  #window = null;
  #sheet = null;
  #titles = [];
  #gridShown = "";
  #ruler = document.createElement("canvas").getContext("2d");

  constructor(svg) {
    this.#svg = svg;
    for (const name of ["ground", "titles", "halos", "lines", "marks", "guides", "draft", "cursor"]) {
      this.#layers[name] = draw("g", { class: name });
      svg.append(this.#layers[name]);
    }
    new ResizeObserver(() => this.#place()).observe(svg);
  }

  /** Shows a sheet with a grid. */
  show(sheet, grid) {
    this.#sheet = sheet;
    const ground = [paperOf(sheet), sheet.fold, sheet.projection, grid].join();
    if (ground !== this.#gridShown) {
      this.#gridShown = ground;
      this.#layers.ground.replaceChildren(...groundOf(sheet, grid));
      this.#titles = titlesOf(sheet);
      this.#layers.titles.replaceChildren(...this.#titles.map(({ text }) => text));
      if (!this.#window) this.fit();
      this.#place();
    }
    this.#showLines(sheet.lines);
  }

  /** Shows marks: `{line, kind, tag}` on lines, `{at, …}` at a place, `{box, …}` around a part; see the style sheet for kinds. */
  mark(marks) {
    const halos = new Map(marks.filter((m) => m.line).map((m) => [`${m.kind} ${pathData(m.line)}`, m]));
    this.#layers.halos.replaceChildren(...[...halos.values()].map(haloOf));
    this.#layers.marks.replaceChildren(...placedTags(marks).map(tagOf), ...marks.filter((m) => m.at).map(ringOf));
    this.#layers.halos.append(...marks.filter((m) => m.box).map(frameOf));
  }

  /** Shows the stroke being drawn, with projected lines and a label; nothing for null. */
  draft(draft) {
    const { guides, draft: layer } = this.#layers;
    guides.replaceChildren(...(draft?.guides ?? []).map(guideOf));
    const parts = (draft?.lines ?? []).map((line) => draw("path", { class: `line draft ${line.type}`, d: pathData(line) }));
    if (draft?.at) parts.push(draw("circle", { class: `point ${draft.what}`, cx: draft.at[0], cy: -draft.at[1], r: this.mm(5) }));
    if (draft?.label) parts.push(this.#label(draft.at, draft.label));
    layer.replaceChildren(...parts);
  }

  /** Shows the keyboard's pencil at a place, or hides it for null. */
  pencilAt(at) {
    this.#layers.cursor.replaceChildren(...(at ? [this.#pencil(at)] : []));
    if (at) this.#keepInSight(at);
  }

  /** Millimetres on the sheet that so many pixels on the screen are. */
  mm(pixels) {
    const scale = this.#svg.getScreenCTM()?.a ?? 1;
    return pixels / scale;
  }

  /** The place on the sheet under a place on the screen. */
  toSheet(clientX, clientY) {
    const at = new DOMPoint(clientX, clientY).matrixTransform(this.#svg.getScreenCTM().inverse());
    return [at.x, -at.y];
  }

  /** Shows the whole paper. */
  fit() {
    this.#lookAt(paperOf(this.#sheet), 4);
  }

  /** Shows what is drawn, with some paper around it; all of the paper if that is nothing. */
  fitDrawing() {
    const { lines, fold } = this.#sheet;
    if (lines.length === 0) return this.fit();
    const corners = lines.map(boxOf).flatMap(([left, bottom, right, top]) => [[left, bottom], [right, top]]);
    this.#lookAt(boxAround([fold, ...corners]), 18);
  }

  #lookAt([left, bottom, right, top], rim) {
    this.#window = { x: left - rim, y: -top - rim, w: right - left + 2 * rim, h: top - bottom + 2 * rim };
    this.#place();
  }

  /** Zooms in (factor above 1) or out, the place `[x, y]` on the sheet staying where it is. */
  zoom(factor, at = this.#middle()) {
    const [left, bottom, right, top] = paperOf(this.#sheet);
    const widest = 1.5 * Math.max(right - left, top - bottom);
    const w = Math.min(widest, Math.max(CLOSEST, this.#window.w / factor));
    const k = w / this.#window.w;
    const y = -at[1];
    this.#window = {
      x: at[0] - (at[0] - this.#window.x) * k,
      y: y - (y - this.#window.y) * k,
      w,
      h: this.#window.h * k,
    };
    this.#place();
  }

  /** Shifts the paper by millimetres. */
  pan(dx, dy) {
    this.#window = { ...this.#window, x: this.#window.x - dx, y: this.#window.y + dy };
    this.#place();
  }

  /** Gets ready for the printer, at true scale and with a line to check it by; gives back the undoing. */
  forPrint() {
    const box = printBox(this.#sheet);
    const [left, bottom, right, top] = box;
    const svg = this.#svg;
    svg.setAttribute("viewBox", `${left} ${-top} ${right - left} ${top - bottom}`);
    svg.setAttribute("width", `${right - left}mm`);
    svg.setAttribute("height", `${top - bottom}mm`);
    this.#placeTitles(box, PRINTED_TITLE);
    const check = scaleBar(this.#sheet, box);
    svg.append(check);
    return () => {
      check.remove();
      svg.removeAttribute("width");
      svg.removeAttribute("height");
      this.#place();
    };
  }

  #middle() {
    const { x, y, w, h } = this.#window;
    return [x + w / 2, -(y + h / 2)];
  }

  #place() {
    if (!this.#window) return;
    const { x, y, w, h } = this.#window;
    this.#svg.setAttribute("viewBox", `${x} ${y} ${w} ${h}`);
    this.#svg.style.setProperty("--pixel", `${this.mm(1)}px`);
    const { left, top, right, bottom, width } = this.#svg.getBoundingClientRect();
    if (width > 0) this.#placeTitles([...this.toSheet(left, bottom), ...this.toSheet(right, top)], this.mm(TITLE * textSize()));
  }

  /** Each view's name stands in that corner of its area, as far as it is in sight, which is farthest from the fold lines. */
  #placeTitles(sight, size) {
    for (const { text, area, outer: [atRight, atTop] } of this.#titles) {
      const [left, bottom, right, top] = common(area, sight);
      text.setAttribute("visibility", left < right && bottom < top ? "visible" : "hidden");
      text.setAttribute("x", atRight ? right - size / 2 : left + size / 2);
      text.setAttribute("y", -(atTop ? top - 1.2 * size : bottom + size / 2));
      text.setAttribute("font-size", size);
    }
  }

  #keepInSight([x, y]) {
    const { x: left, y: top, w, h } = this.#window;
    const rim = w / 20;
    const short = (value, low, high) => (value < low ? low - value : value > high ? high - value : 0);
    const dx = short(x, left + rim, left + w - rim);
    const dy = short(-y, top + rim, top + h - rim);
    if (dx || dy) this.pan(dx, -dy);
  }

  #showLines(lines) {
    const kept = new Map();
    for (const line of lines) {
      const path = this.#drawn.get(line) ?? draw("path", { class: `line ${line.type}`, d: pathData(line) });
      kept.set(line, path);
    }
    for (const [line, path] of this.#drawn) if (!kept.has(line)) path.remove();
    // Hidden lines first: where lines lie over one another, the visible one is seen.
    const rank = (line) => (line.type === "visible" ? 2 : line.type === "hidden" ? 1 : 0);
    const sorted = [...kept].sort(([a], [b]) => rank(a) - rank(b)).map(([, path]) => path);
    const shown = this.#layers.lines.children;
    if (shown.length !== sorted.length || sorted.some((path, i) => path !== shown[i])) {
      this.#layers.lines.replaceChildren(...sorted);
    }
    this.#drawn = kept;
  }

  /** A measure above the pencil, or below where there is no room, and always within sight; lengths in pixels. */
  #label([x, y], text) {
    const [wide, high, gap] = [this.#lengthOf(text) + 14, 28, 14];
    const sight = this.#svg.getBoundingClientRect();
    const at = new DOMPoint(x, -y).matrixTransform(this.#svg.getScreenCTM());
    const left = Math.max(sight.left - at.x, Math.min(gap, sight.right - wide - at.x));
    const top = at.y - gap - high > sight.top ? -gap - high : gap;
    const group = draw("g", { class: "label", transform: `translate(${x} ${-y}) scale(${this.mm(1)})` });
    group.append(draw("rect", { x: left, y: top, width: wide, height: high }), draw("text", { x: left + 7, y: top + 20 }, text));
    return group;
  }

  /** How long a label's text becomes, in pixels; fonts differ. */
  #lengthOf(text) {
    this.#ruler.font = `16px ${getComputedStyle(this.#svg).fontFamily}`;
    return this.#ruler.measureText(text).width;
  }

  /** A ring with a cross and a gap amid it, so that what is below stays in sight. */
  #pencil([x, y]) {
    const group = draw("g", { transform: `translate(${x} ${-y}) scale(${this.mm(1)})` });
    const cross = "M-22 0H-6M6 0H22M0 -22V-6M0 6V22";
    group.append(
      draw("path", { class: "cross-back", d: cross }),
      draw("circle", { class: "cross-back", r: 11 }),
      draw("path", { class: "cross", d: cross }),
      draw("circle", { class: "cross", r: 11 }),
    );
    return group;
  }
}

function groundOf(sheet, grid) {
  const paper = paperOf(sheet);
  const [left, bottom, right, top] = paper;
  const parts = [draw("rect", { class: "sheet", x: left, y: -top, width: right - left, height: top - bottom })];
  const { step, bold } = GRIDS[grid];
  parts.push(draw("path", { class: "grid", d: rulings(paper, step) }));
  parts.push(draw("path", { class: "grid bold", d: rulings(paper, bold) }));
  const [fx, fy] = sheet.fold;
  parts.push(draw("path", { class: "fold", d: `M${left} ${-fy}H${right}M${fx} ${-top}V${-bottom}` }));
  const beside = areaOf(sheet, null);
  const reach = Math.min(beside[2] - beside[0], beside[3] - beside[1]) * (sheet.projection === "third-angle" ? 1 : -1);
  parts.push(draw("path", { class: "miter", d: `M${fx} ${-fy}L${fx + reach} ${-(fy + reach)}` }));
  return parts;
}

/** What is printed: the drawing with a rim, or an empty sheet that fits A4 and letter paper with their margins. */
function printBox(sheet) {
  const [left, bottom, right, top] = paperOf(sheet);
  const rim = 14;
  if (sheet.lines.length === 0) return [left + rim, bottom + rim, right - rim, top - rim];
  const corners = sheet.lines.map(boxOf).flatMap((box) => [[box[0], box[1]], [box[2], box[3]]]);
  const [l, b, r, t] = boxAround([sheet.fold, ...corners]);
  return [l - rim, b - rim, r + rim, t + rim];
}

/** A line of known length: printers like to shrink pages. */
function scaleBar(sheet, [left, bottom, right]) {
  const long = sheet.unit === "in" ? 50.8 : 50;
  const [x, y] = [(left + right - long) / 2, -(bottom + 4)];
  const group = draw("g", { class: "scale-bar" });
  group.append(
    draw("path", { d: `M${x} ${y - 1.5}v3M${x} ${y}h${long}m0 -1.5v3` }),
    draw("text", { x: x + long / 2, y: y - 1.2 }, say("scaleBar", { long: inUnit(sheet, long) })),
  );
  return group;
}

function textSize() {
  return parseFloat(getComputedStyle(document.documentElement).fontSize);
}

function common(a, b) {
  return [Math.max(a[0], b[0]), Math.max(a[1], b[1]), Math.min(a[2], b[2]), Math.min(a[3], b[3])];
}

function rulings([left, bottom, right, top], step) {
  let path = "";
  for (let i = Math.ceil(left / step); i * step <= right; i++) path += `M${i * step} ${-top}V${-bottom}`;
  for (let i = Math.ceil(bottom / step); i * step <= top; i++) path += `M${left} ${-i * step}H${right}`;
  return path;
}

/** The names of the views, each with its area and the corner of it that is farthest from the fold lines. */
function titlesOf(sheet) {
  return [...VIEWS, null].map((view) => {
    const area = areaOf(sheet, view);
    const outer = [area[0] >= sheet.fold[0], area[1] >= sheet.fold[1]];
    const anchor = outer[0] ? "end" : "start";
    return { text: draw("text", { class: "area", "text-anchor": anchor }, say(view ? `view.${view}` : "miter")), area, outer };
  });
}

function haloOf({ line, kind }) {
  const group = draw("g", { class: `halo ${kind}` });
  const d = pathData(line);
  group.append(draw("path", { class: "band", d }), draw("path", { class: "pattern", d }));
  if (kind === "comes") group.append(draw("path", { class: `line ${line.type}`, d }));
  return group;
}

function ringOf({ at: [x, y], kind }) {
  return draw("circle", { class: `ring ${kind}`, cx: x, cy: -y, r: 3 });
}

/** A frame a little larger than a box, so that it does not lie on the lines there. */
function frameOf({ box: [left, bottom, right, top], kind }) {
  const rim = 2;
  return draw("rect", {
    class: `frame ${kind}`, x: left - rim, y: -top - rim, width: right - left + 2 * rim, height: top - bottom + 2 * rim, rx: rim,
  });
}

/** A tag per mark that has one, side by side where several would lie on one place. */
function placedTags(marks) {
  const taken = [];
  return marks.filter((m) => m.tag).map((mark) => {
    const at = mark.at ?? (mark.box ? [mark.box[2] - 4, mark.box[3]] : beside(mark.line));
    let [x, y] = [at[0] + 4, at[1] + 4];
    while (taken.some(([tx, ty]) => Math.abs(tx - x) < 6 && Math.abs(ty - y) < 6)) x += 6.5;
    taken.push([x, y]);
    return { ...mark, x, y };
  });
}

function beside(line) {
  const points = sampled(line);
  if (line.line) {
    const [left, bottom, right, top] = boxOf(line);
    return [(left + right) / 2, (bottom + top) / 2];
  }
  return points[Math.floor(points.length / 8)] ?? boxAround(points);
}

function tagOf({ x, y, tag, kind }) {
  const group = draw("g", { class: `tag ${kind}`, transform: `translate(${x} ${-y})` });
  group.append(draw("circle", { r: 2.9 }), draw("text", { y: 1.4 }, tag));
  return group;
}

function guideOf(points) {
  return draw("path", { class: "guide", d: points.map(([x, y], i) => `${i ? "L" : "M"}${x} ${-y}`).join("") });
}
