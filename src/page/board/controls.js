// The buttons around the paper: line types, tools, settings, menus, looks, help. They only choose; what is chosen happens
// elsewhere.

import { byId, draw, make } from "./dom.js";
import { LETTERS } from "./keys.js";
import { LOOKS } from "./camera.js";
import { PENCILS, RULES } from "./sheet.js";
import { GRIDS } from "./snap.js";
import { say } from "./words.js";

const KEY_ROWS = ["move", "set", "escape", "views", "next", "types", "shapes", "change", "parts", "delete", "undo", "zoom"];
const STROKES = {
  visible: "M2 8H46", hidden: "M2 8H46", center: "M2 8H46",
  line: "M6 14L42 3", circle: "M18 8a6.5 6.5 0 1 0 13 0a6.5 6.5 0 1 0 -13 0", arc: "M14 14A16 16 0 0 1 34 14",
  ellipse: "M11 8a13 5.5 0 1 0 26 0a13 5.5 0 1 0 -26 0",
};

/** Builds the choices of line type and tool; `onChoose(kind, name)` is told what was chosen. */
export function buildTools(onChoose) {
  const letterOf = (name) => Object.keys(LETTERS).find((key) => LETTERS[key][1] === name);
  const add = (field, kind, names) => byId(field).append(...names.map((name) => choice(kind, name, letterOf(name), onChoose)));
  add("pencils", "pencil", PENCILS);
  add("shapes", "tool", ["line", "circle", "arc", "ellipse"]);
  add("changes", "tool", ["retype", "erase"]);
  byId("changes").append(partsSwitch(letterOf("parts"), onChoose));
  add("changes", "tool", ["move", "hand"]);
}

/** Shows a choice made in another way, as by a key. */
export function showChoice(kind, name) {
  if (kind === "parts") byId("parts").checked = name;
  for (const input of document.querySelectorAll(`input[name="${kind}"]`)) input.checked = input.value === name;
}

/** Fills the choice of grids. */
export function buildGrids(onChange) {
  const select = byId("grid");
  select.append(...Object.keys(GRIDS).map((name) => make("option", { value: name }, say(`grid.${name}`))));
  select.addEventListener("change", () => onChange(select.value));
}

/** Fills the choices of rules; `onChange(name, word)` is told what was chosen. */
export function buildRules(onChange) {
  for (const [name, rules] of Object.entries(RULES)) {
    const select = byId(name);
    select.append(...rules.map((word) => make("option", { value: word }, say(`${name}.${word}`))));
    select.addEventListener("change", () => onChange(name, select.value));
  }
}

/** Builds the buttons for looking at the solid and turning it. */
export function buildLooks(solid) {
  const look = (name) => {
    const button = make("button", { type: "button", "aria-pressed": "false", "data-look": name }, say(`look.${name}`));
    button.addEventListener("click", () => solid.look(name));
    return button;
  };
  byId("looks").append(...Object.keys(LOOKS).map(look));
  const steps = { left: [-15, 0], right: [15, 0], up: [0, 15], down: [0, -15] };
  byId("turns").append(...Object.entries(steps).map(([name, step]) => {
    const button = make("button", { type: "button", "aria-label": `${say("turn")}: ${say(`turn.${name}`)}` }, say(`turn.${name}`));
    button.addEventListener("click", () => solid.turn(...step));
    return button;
  }));
}

/** What stands around the solid: which reading, which look, and whether corrections are shown. */
export class PanelParts {
  #look = "isometric";
  #count = 0;

  /** Whether the solid is shown in the oblique look. */
  get oblique() {
    return this.#look === "oblique";
  }

  /** Shows the reading at `index` of `count`; `size` is its size in words, or null. */
  readings(index, count, size) {
    byId("solid-shown").hidden = count === 0;
    byId("solid-empty").hidden = count > 0;
    byId("readings").hidden = count < 2;
    byId("reading").textContent = say("reading", { n: index + 1, count });
    this.#count = count;
    this.look(this.#look, size);
  }

  /** Shows which look is on; null while the solid is turned freely. */
  look(name, size) {
    this.#look = name;
    for (const button of byId("looks").children) button.setAttribute("aria-pressed", String(button.dataset.look === name));
    const over = name === "front" || name === "top" || name === "right";
    const notes = [over ? say("lookedOver") : "", this.#count > 1 ? say("differs") : ""];
    byId("solid-note").textContent = notes.filter(Boolean).join(" ");
    const seen = name ? `${say(`look.${name}`)}.` : "";
    byId("solid").setAttribute("aria-label", size ? say("solidLabel", { size, look: seen }) : say("solidNone"));
  }

  /** Shows or hides the box of corrections. */
  mends(shown) {
    byId("mends-box").hidden = !shown;
  }
}

/** Menus close on Escape, after a choice, and when something else is pressed or reached. */
export function buildMenus() {
  const menus = [...document.querySelectorAll("details.menu")];
  for (const menu of menus) {
    menu.addEventListener("keydown", (event) => {
      if (event.key !== "Escape" || !menu.open) return;
      menu.open = false;
      menu.querySelector("summary").focus();
    });
    menu.addEventListener("click", (event) => {
      if (event.target.closest("button")) menu.open = false;
    });
  }
  const closeOthers = (event) => {
    for (const menu of menus) if (!menu.contains(event.target)) menu.open = false;
  };
  document.addEventListener("pointerdown", closeOthers);
  document.addEventListener("focusin", closeOthers);
}

/** Fills and opens the help. */
export function buildHelp() {
  byId("help-text").append(...[1, 2, 3, 4, 5].map((n) => make("p", {}, say(`help.${n}`))));
  const row = (name) => make("tr", {}, make("th", { scope: "row" }, say(`keys.key.${name}`)), make("td", {}, say(`keys.${name}`)));
  byId("key-table").append(...KEY_ROWS.map(row));
  byId("help").addEventListener("click", () => byId("help-dialog").showModal());
  byId("help-close").addEventListener("click", () => byId("help-dialog").close());
  byId("link-close").addEventListener("click", () => byId("link-dialog").close());
}

/** The switch that makes the eraser, and the tool above it, stop at crossings. */
function partsSwitch(letter, onChoose) {
  const input = make("input", { type: "checkbox", id: "parts" });
  input.addEventListener("change", () => onChoose("parts", input.checked));
  return make("label", { className: "pick switch" }, input, make("span", {}, say("parts")), keyShown(letter));
}

function choice(kind, name, letter, onChoose) {
  const input = make("input", { type: "radio", name: kind, value: name });
  input.addEventListener("change", () => onChoose(kind, name));
  const label = make("label", { className: "pick" }, input);
  if (STROKES[name]) {
    const picture = draw("svg", { viewBox: "0 0 48 16", "aria-hidden": "true", class: `sample ${kind === "pencil" ? name : "visible tool-picture"}` });
    picture.append(draw("path", { d: STROKES[name] }));
    label.append(picture);
  }
  label.append(make("span", {}, say(`${kind}.${name}`)), keyShown(letter));
  return label;
}

function keyShown(letter) {
  return make("kbd", { "aria-hidden": "true" }, letter.toUpperCase());
}
