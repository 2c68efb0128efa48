// The keyboard alone can draw everything: a pencil on the paper moves from grid line to grid line with the arrow keys,
// Enter sets it down, letters choose what it does. The letters count only while the paper has the focus, so that they never get
// in the way of other programs that read or type.

import { distance, ends, keyPoints } from "./shapes.js";
import { areaOf, inUnit, viewAt } from "./sheet.js";
import { GRIDS, lineNear, stepped } from "./snap.js";
import { say } from "./words.js";

/** Letters for pencils and tools. */
export const LETTERS = {
  v: ["pencil", "visible"],
  h: ["pencil", "hidden"],
  c: ["pencil", "center"],
  l: ["tool", "line"],
  o: ["tool", "circle"],
  a: ["tool", "arc"],
  e: ["tool", "ellipse"],
  r: ["tool", "retype"],
  m: ["tool", "move"],
  x: ["tool", "erase"],
  g: ["tool", "hand"],
  p: ["parts", "parts"],
};

const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };
const VIEW_KEYS = { 1: "front", 2: "top", 3: "right" };
// With the keyboard a line counts as under the pencil when it runs through it.
const ON = 0.5;

/** The keyboard's pencil on the paper. */
export class Keys {
  #paper;
  #tools;
  #history;
  #actions;
  #at = null;

  /** `actions`: `choose(kind, name)`, `undo()`, `redo()`, `notice(words)`. */
  constructor(element, { paper, tools, history, actions }) {
    [this.#paper, this.#tools, this.#history, this.#actions] = [paper, tools, history, actions];
    element.addEventListener("keydown", (event) => this.#key(event));
    element.addEventListener("focus", () => element.matches(":focus-visible") && this.#show());
    element.addEventListener("blur", () => this.hide());
  }

  /** Hides the pencil, as when the mouse is used instead. */
  hide() {
    this.#paper.pencilAt(null);
  }

  #key(event) {
    if (event.ctrlKey || event.metaKey) return;
    if (this.#handled(event)) event.preventDefault();
  }

  #handled(event) {
    const { key } = event;
    if (ARROWS[key]) return this.#step(ARROWS[key], event.shiftKey);
    const letter = LETTERS[key.toLowerCase()];
    if (letter) return this.#choose(...letter);
    if (VIEW_KEYS[key]) return this.#goTo(this.#middleOf(VIEW_KEYS[key]));
    switch (key) {
      case "Enter":
      case " ": return this.#set();
      case "Escape": return this.#tools.cancel();
      case "Delete":
      case "Backspace": return this.#erase();
      case "n": return this.#nextPoint(1);
      case "N": return this.#nextPoint(-1);
      case "u": return this.#done(this.#actions.undo());
      case "y": return this.#done(this.#actions.redo());
      case "+":
      case "=": return this.#done(this.#paper.zoom(1.25, this.#at ?? undefined));
      case "-": return this.#done(this.#paper.zoom(0.8, this.#at ?? undefined));
      case "0": return this.#done(this.#paper.fit());
      default: return false;
    }
  }

  #done() {
    return true;
  }

  #choose(kind, name) {
    this.#actions.choose(kind, name);
    this.#show();
    return true;
  }

  #step(direction, fine) {
    const from = this.#place();
    return this.#goTo(stepped(this.#history.sheet, from, direction, { grid: this.#tools.grid, fine }));
  }

  #set() {
    this.#show();
    this.#tools.press(this.#place(), this.#how());
    if (this.#tools.busy) this.#tools.hover(this.#place(), this.#how());
    return true;
  }

  #erase() {
    const index = lineNear(this.#history.sheet, this.#place(), ON, distance);
    if (index < 0) this.#actions.notice(say("notice.noLine"));
    else this.#tools.eraseLine(index, this.#place());
    return true;
  }

  /** To the next end or centre in the view, in reading order. */
  #nextPoint(direction) {
    const sheet = this.#history.sheet;
    const view = viewAt(sheet, this.#place());
    const order = ([ax, ay], [bx, by]) => ax - bx || ay - by;
    const points = sheet.lines.filter((line) => line.view === view).flatMap(keyPoints).sort(order);
    const ahead = points.filter((p) => order(p, this.#place()) * direction > 1e-6);
    const next = direction > 0 ? ahead[0] ?? points[0] : ahead.at(-1) ?? points.at(-1);
    return next ? this.#goTo(next) : this.#goTo(this.#place());
  }

  #goTo(at) {
    this.#at = at;
    this.#show();
    if (this.#tools.busy) this.#tools.hover(at, this.#how());
    this.#actions.notice(this.#whereabouts());
    return true;
  }

  #show() {
    this.#paper.pencilAt(this.#place());
  }

  #place() {
    this.#at ??= this.#middleOf("front");
    return this.#at;
  }

  #how() {
    return { reach: ON, exact: true };
  }

  #middleOf(view) {
    const [left, bottom, right, top] = areaOf(this.#history.sheet, view);
    const { step } = GRIDS[this.#tools.grid];
    return [(left + right) / 2, (bottom + top) / 2].map((value) => Math.round(value / step) * step);
  }

  /** Where the pencil is, in words, and what is under it. */
  #whereabouts() {
    const sheet = this.#history.sheet;
    const view = viewAt(sheet, this.#at);
    const [x, y] = this.#at.map((value) => inUnit(sheet, value));
    const index = lineNear(sheet, this.#at, 0.01, distance);
    const words = [say("pencilAt", { view: say(view ? `view.${view}` : "miter"), x, y })];
    if (index >= 0) {
      const line = sheet.lines[index];
      const atEnd = ends(line).some((p) => Math.hypot(p[0] - this.#at[0], p[1] - this.#at[1]) < 0.01);
      words.push(say(atEnd ? "onEnd" : "onLine", { type: say(`pencil.${line.type}`) }));
    }
    return words.join(" ");
  }
}
