// From the engine's answer to what the page says and marks. The page adds no judgement of its own: a sheet the engine calls
// unfinished is "not an object yet", calmly, with what is missing; otherwise the verdict and its reasons are the engine's.

import { fillWords, make } from "./dom.js";
import { shapeOf } from "./shapes.js";
import { RULES, inUnit, lineFromAnswer, placeFromAnswer } from "./sheet.js";
import { lineInWords, placeInWords, say } from "./words.js";

const MOST_OPEN = 4;

/**
 * What an answer means for a sheet: `{state, text, missing, findings, notes, rules, report}`. A finding is
 * `{text, tag, kind, lines, line, at}`: `lines` are places in the sheet's list, `line` is a stretch of its own,
 * `box` a part of the sheet.
 */
export function understood(sheet, answer) {
  if (sheet.lines.length === 0) return plain("empty", say("text.empty"));
  if (answer.error) return plain("trouble", say("text.trouble", { why: sentence(answer.error) }));
  const { report, unfinished } = answer;
  const found = report?.verdict === "unique" || report?.verdict === "ambiguous";
  if (unfinished && !found) return unfinishedOf(sheet, unfinished);
  if (!report) return plain("unfinished", say("text.unfinishedOnly"));
  return { ...verdictOf(sheet, report, answer), notes: report.warnings ?? [], rules: rulesInWords(sheet), report: answer.text };
}

/** What to say while there is no answer: `waiting`, or `trouble` with a reason. */
export function plain(state, text = say(`text.${state}`)) {
  return { state, text, missing: [], findings: [], notes: [], rules: [], report: "" };
}

/** Marks for the sheet, from what was understood. */
export function marksOf(sheet, meaning) {
  const marks = [];
  for (const { lines, line, at, box, kind, tag } of meaning.findings) {
    if (box) marks.push({ box, kind, tag });
    if (line) marks.push({ line, kind, tag });
    const known = lines.filter((i) => sheet.lines[i]);
    known.forEach((i, n) => marks.push({ line: sheet.lines[i], kind, tag: n === 0 ? tag : undefined }));
    if (at) marks.push({ at, kind, tag: known.length === 0 ? tag : undefined });
  }
  return marks;
}

/** The panel with the verdict in words. */
export class AnswerPanel {
  #root;
  #spoken;
  #timer = 0;
  #last = "";

  /** `spoken` is the live region that says the verdict aloud. */
  constructor(root, spoken) {
    [this.#root, this.#spoken] = [root, spoken];
  }

  /** Shows what was understood; with `hints` off only the verdict itself. */
  show(meaning, hints) {
    const { state, missing, findings, notes, rules, report } = meaning;
    const withheld = state === "contradictory" && !hints;
    const text = withheld ? say("text.contradictoryNoHints") : meaning.text;
    const parts = [make("p", { className: "verdict-word" }, say(`state.${state}`)), make("p", {}, text)];
    if (hints && missing.length) parts.push(listOf(missing.map((words) => make("li", {}, words)), "ul"));
    if (hints && findings.length && state !== "unfinished") parts.push(...findingsList(state, findings));
    for (const words of [...rules, ...(hints ? [] : [say("hintsOff")])]) parts.push(make("p", { className: "quiet" }, words));
    if (hints && notes.length) parts.push(make("h3", {}, say("notes")), listOf(notes.map((n) => make("li", {}, sentence(n.message))), "ul"));
    if (hints && report) parts.push(make("details", {}, make("summary", { "data-words": "fullReport" }), make("pre", {}, report)));
    this.#root.dataset.state = state;
    this.#root.replaceChildren(...parts);
    fillWords(this.#root);
    const heard = [text, ...(hints ? [...missing, ...findings.slice(0, 3).map((f) => f.text)] : [])];
    this.#speak(`${say(`state.${state}`)}. ${heard.join(" ")}`);
  }

  /** Notes how many milliseconds the answer took since the stroke, for whoever wants to know. */
  took(milliseconds) {
    this.#root.dataset.took = milliseconds.toFixed(1);
  }

  /** Says a verdict aloud once it has stood for a moment, and only if it is another one than before. */
  #speak(words) {
    clearTimeout(this.#timer);
    this.#timer = setTimeout(() => {
      if (words === this.#last) return;
      this.#last = words;
      this.#spoken.textContent = words;
    }, 700);
  }
}

/** A message of the engine as a sentence. */
export function sentence(message) {
  const text = String(message ?? "").trim();
  if (!text) return "";
  return text[0].toUpperCase() + text.slice(1) + (/[.!?]$/.test(text) ? "" : ".");
}

/** What is missing, without the report: that would call the sheet wrong, and it is only not done. */
function unfinishedOf(sheet, { missing = [], open = [], message }) {
  const views = missing.map((view) => say("missingView", { view: say(`lower.${view}`) }));
  const places = open.slice(0, MOST_OPEN).map(({ view, at }) => {
    const [x, y] = placeFromAnswer(sheet, at).map((mm) => inUnit(sheet, mm));
    return say("openEnd", { view: say(`lower.${view}`), x, y });
  });
  if (open.length > MOST_OPEN) places.push(say("moreOpen", { count: open.length - MOST_OPEN }));
  const all = [...views, ...places];
  const text = all.length ? say("text.unfinished") : sentence(message) || say("text.unfinishedOnly");
  const findings = open.map(({ at }) => ({
    text: "",
    kind: "open",
    lines: [],
    at: placeFromAnswer(sheet, at),
  }));
  return { state: "unfinished", text, missing: all, findings, notes: [], rules: [], report: "" };
}

/** The rules under which a verdict was found, so far as they are not the usual ones. */
function rulesInWords({ rules }) {
  const unusual = Object.entries(RULES).filter(([name, words]) => rules[name] !== words[0]);
  return unusual.map(([name]) => say(`ruled.${name}.${rules[name]}`));
}

function verdictOf(sheet, report, { text }) {
  const state = report.verdict;
  const texts = {
    unique: () => say("text.unique", sizesOf(sheet, report.readings[0])),
    ambiguous: () => say("text.ambiguous", { count: countOf(report) }),
    contradictory: () => say("text.contradictory"),
    undecided: () => say(sheet.rules.hidden_lines === "optional" ? "text.undecidedDepths" : "text.undecided"),
  };
  const findings = state === "ambiguous" ? placesOf(sheet, report) : state === "unique" ? [] : conflictOf(sheet, report);
  return { state, text: texts[state]?.() ?? text, missing: [], findings };
}

function sizesOf(sheet, reading) {
  if (!reading) return {};
  const [w, d, h] = reading.size_mm.map((mm) => inUnit(sheet, mm));
  const cubic = reading.volume_mm3;
  const volume = cubic >= 1000
    ? say("volume", { v: Math.round(cubic / 10) / 100 })
    : say("volumeSmall", { v: Math.round(cubic * 10) / 10 });
  return { size: say("size", { w, d, h }), volume };
}

function countOf({ readings_total: total, readings_total_exact: exact, readings, complete }) {
  const count = total ?? readings.length;
  return exact ?? complete ? count : say("atLeast", { count });
}

/** The problems as sentences with marks; lines that are wrong only together are listed one by one instead. */
function conflictOf(sheet, { conflict, problems = [] }) {
  const lines = listed(conflict);
  const together = problems.some((problem) => problem.kind === "not-together") && lines.length > 1;
  const told = problems.filter((problem) => !(together && problem.kind === "not-together"));
  const needed = together || !told.some((problem) => problem.lines?.length);
  let count = 0;
  const tag = () => String(++count);
  const sentences = told.map(({ message, lines: places = [] }) => (
    { text: sentence(message), kind: "conflict", lines: places, tag: places.length ? tag() : "" }
  ));
  const marked = needed ? lines.map((line) => markedLine(sheet, line, "conflict", tag())) : [];
  return [...sentences, ...marked];
}

/** Places of choice, each with a letter, its box in every view and the lines it hides behind; and what settles them. */
function placesOf(sheet, { places, settled_by: settling }) {
  const found = listed(places).flatMap((place, i) => {
    const tag = String.fromCharCode(65 + (i % 26));
    const behind = listed(place.lines).map((line) => ({ ...markedLine(sheet, line, "choice"), text: "" }));
    const boxes = Object.values(place.on_sheet ?? {}).map((box) => (
      { text: "", kind: "choice", tag, lines: [], box: placeFromAnswer(sheet, box) }
    ));
    const [x1, y1, x2, y2] = place.on_sheet?.front ?? [];
    const corners = { x1, y1, x2, y2, unit: sheet.unit };
    const text = say("place", { count: place.alternatives?.length, ...corners });
    return [{ text, kind: "choice", tag, lines: [], listed: true }, ...boxes, ...behind];
  });
  if (found.length === 0) return found;
  return [...found, { text: settlingInWords(sheet, settling), kind: "choice", lines: [] }];
}

function settlingInWords(sheet, settling) {
  if (!settling) return say("settled.nothing");
  if (!settling.section) return say(`settled.${settling.view}`);
  return say("settled.section", { place: placeInWords(settling, sheet.unit), view: say(`lower.${settling.view}`) });
}

/** A finding about a line that comes with its shape. */
function markedLine(sheet, line, kind, tag) {
  const known = shapeOf(line) ? { line: lineFromAnswer(sheet, { view: line.view, type: line.type, [shapeOf(line)]: line[shapeOf(line)] }) } : {};
  return { text: shapeOf(line) ? sentence(lineInWords(line, sheet.unit)) : "", kind, tag, lines: [], ...known };
}

function listed(value) {
  return Array.isArray(value) ? value : [];
}

/** Sentences first, then marked lines; lines that are in conflict only together get a heading that says so. */
function findingsList(state, findings) {
  const told = findings.filter((f) => f.text && !f.line);
  const lines = findings.filter((f) => f.text && f.line);
  const parts = [];
  if (told.length) parts.push(make("h3", {}, say(state === "ambiguous" ? "places" : "findings")), itemList(told));
  if (lines.length) parts.push(make("h3", {}, say(lines.length > 1 ? "together" : "findings")), itemList(lines));
  return parts;
}

function itemList(findings) {
  return make("ol", { className: "findings" }, ...findings.map(itemOf));
}

function itemOf({ text, tag, kind, lines, line, listed: marked }) {
  const item = make("li", {});
  if (tag && (line || marked || lines.length)) item.append(make("span", { className: `mark ${kind}` }, tag), " ");
  item.append(text);
  return item;
}

function listOf(items, tag) {
  return make(tag, {}, ...items);
}
