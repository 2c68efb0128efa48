// The smallest corrections as a list of buttons: pointing at one or reaching it by key previews it on the sheet, pressing
// applies it. What the sheet is after a correction comes from the engine, like the correction.

import { make } from "./dom.js";
import { shapeOf } from "./shapes.js";
import { fromJson, lineFromAnswer, withLines } from "./sheet.js";
import { hasWords, lineInWords, placeInWords, say } from "./words.js";

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

/** The sheet after a correction, as the engine sends it along. */
export function mended(sheet, { sheet: corrected }) {
  return withLines(sheet, fromJson(corrected).lines);
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
