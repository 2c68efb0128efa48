// Puts the page together: the drawing and its history in the middle, pencil and paper on one side of it, engine, verdict
// and solid on the other.

import { AnswerPanel } from "./answer.js";
import { PanelParts, buildGrids, buildHelp, buildLooks, buildMenus, buildRules, buildTools, showChoice } from "./controls.js";
import { byId, fillWords } from "./dom.js";
import { Engine } from "./engine.js";
import { Files } from "./files.js";
import { History } from "./history.js";
import { Keys } from "./keys.js";
import { unpacked } from "./letters.js";
import { fragmentOf, sheetIn } from "./link.js";
import { Live } from "./live.js";
import { MendList } from "./mends.js";
import { Paper } from "./paper.js";
import { Pointer } from "./pointer.js";
import { RULES, emptySheet, inProjection } from "./sheet.js";
import { GRIDS } from "./snap.js";
import { SolidView } from "./solid.js";
import { keep, kept } from "./store.js";
import { Tools } from "./tools.js";
import { say } from "./words.js";

const KEEP_AFTER = 150;
let keeping = 0;

fillWords(document);
document.title = say("title");
buildTools((kind, name) => choose(kind, name, true));
buildMenus();
buildHelp();

const before = kept();
const settings = { grid: "5mm", hints: true, ...before?.settings };
if (!Object.hasOwn(GRIDS, settings.grid)) settings.grid = "5mm";
const history = new History(before?.sheet ?? emptySheet(GRIDS[settings.grid].unit));
const paper = new Paper(byId("paper"));
const tools = new Tools(history, { onDraft: showDraft, onNotice: notice });
const pointer = new Pointer(byId("paper"), paper, tools, () => keys.hide());
const actions = { choose, undo: () => goBack(true), redo: () => goBack(false), notice };
const keys = new Keys(byId("paper"), { paper, tools, history, actions });

const engine = new Engine(dataIn("board-engine")?.kind ?? "server", () => notice(say("notice.restarted")));
const page = new PanelParts();
const solid = new SolidView(byId("solid"), (name) => live.looked(name));
const answer = new AnswerPanel(byId("verdict"), byId("spoken"));
const mends = new MendList(byId("mends"), {
  onPreview: (changes) => live.preview(changes),
  onApply: (mend) => live.apply(mend),
});
const live = new Live(engine, history, { paper, answer, solid, mends, page, notice });
const files = new Files({ history, engine, live, page, paper, notice, opened });
buildLooks(solid);
offerSamples();

buildGrids((grid) => {
  settings.grid = grid;
  const { unit } = GRIDS[grid];
  const { sheet } = history;
  // An empty sheet gets paper and fold lines that suit the grid; a drawn one keeps its places and counts in the other unit.
  history.put(sheet.lines.length === 0 ? emptySheet(unit, sheet.projection, sheet.rules) : { ...sheet, unit });
  showAll();
});
buildRules((name, word) => history.put({ ...history.sheet, rules: { ...history.sheet.rules, [name]: word } }));
connect();
history.onChange(showAll);
choose("pencil", "visible", true);
choose("tool", "line", true);
showAll();
live.hints = settings.hints;
live.ask(history.sheet);
openLink();

/** Chooses a line type or a tool, by a button (`byButton`) or a key. */
function choose(kind, name, byButton = false) {
  if (kind === "parts") return chooseParts(byButton ? name : !tools.parts);
  if (kind === "pencil") tools.pencil = name;
  else {
    pointer.hand = name === "hand";
    byId("paper").classList.toggle("hand", pointer.hand);
    tools.choose(name === "hand" ? "line" : name);
  }
  // To draw the next line differently, one need not choose to draw again.
  showChoice(kind, name);
  if (!byButton) notice(say("notice.chosen", { what: say(`${kind}.${name}`) }));
  return undefined;
}

/** Whether erasing and changing stop at crossings. */
function chooseParts(on) {
  tools.parts = on;
  showChoice("parts", on);
  notice(say(on ? "notice.partsOn" : "notice.partsOff"));
}

function connect() {
  const on = (id, act) => byId(id).addEventListener("click", act);
  on("undo", () => goBack(true));
  on("redo", () => goBack(false));
  on("new", () => {
    history.put(emptySheet(GRIDS[settings.grid].unit, history.sheet.projection, history.sheet.rules));
    opened();
    notice(say("notice.newSheet"));
  });
  on("zoom-in", () => paper.zoom(1.25));
  on("zoom-out", () => paper.zoom(0.8));
  on("fit", () => paper.fit());
  on("previous", () => live.step(-1));
  on("next", () => live.step(1));
  on("link-copy", () => copyLink(true));
  on("link-exercise", () => copyLink(false));
  byId("tools").addEventListener("submit", (event) => event.preventDefault());
  byId("projection").addEventListener("change", ({ target }) => {
    history.put(inProjection(history.sheet, target.value));
    paper.fitDrawing();
    notice(say("notice.projection", { projection: target.selectedOptions[0].textContent }));
  });
  byId("hints").addEventListener("change", ({ target }) => {
    setHints(target.checked);
    notice(say(target.checked ? "notice.hintsOn" : "notice.hintsOff"));
  });
  document.addEventListener("keydown", shortcuts);
  window.addEventListener("hashchange", openLink);
  window.addEventListener("pagehide", () => keep(history.sheet, settings));
}

function shortcuts(event) {
  if (!(event.ctrlKey || event.metaKey) || event.altKey || event.target.matches("textarea")) return;
  const key = event.key.toLowerCase();
  if (key === "z") goBack(!event.shiftKey);
  else if (key === "y") goBack(false);
  else return;
  event.preventDefault();
}

function goBack(undo) {
  tools.cancel();
  const done = undo ? history.undo() : history.redo();
  const words = undo ? ["notice.undone", "notice.nothingToUndo"] : ["notice.redone", "notice.nothingToRedo"];
  notice(say(done ? words[0] : words[1]));
}

function setHints(on) {
  settings.hints = on;
  live.hints = on;
  showAll();
}

function showAll() {
  const { sheet } = history;
  // Undo may lead to a sheet in the other unit.
  if (GRIDS[settings.grid].unit !== sheet.unit) settings.grid = sheet.unit === "in" ? "1/4in" : "5mm";
  tools.grid = settings.grid;
  paper.show(sheet, settings.grid);
  // Not `disabled`: a button that had the focus would lose it.
  byId("undo").setAttribute("aria-disabled", String(!history.canUndo));
  byId("redo").setAttribute("aria-disabled", String(!history.canRedo));
  byId("projection").value = sheet.projection;
  byId("grid").value = settings.grid;
  for (const name of Object.keys(RULES)) byId(name).value = sheet.rules[name];
  byId("hints").checked = settings.hints;
  clearTimeout(keeping);
  keeping = setTimeout(() => keep(sheet, settings), KEEP_AFTER);
}

function showDraft(draft) {
  if (draft && "target" in draft) {
    paper.draft(draft.target ? { lines: [{ ...draft.target, type: `target ${draft.kind}` }] } : null);
  } else paper.draft(draft);
}

function opened() {
  tools.cancel();
  paper.fitDrawing();
  // The menu it was chosen from is gone.
  byId("paper").focus({ preventScroll: true });
}

function notice(words) {
  byId("notice").textContent = words;
}

async function copyLink(hints) {
  const link = location.href.split("#")[0] + (await fragmentOf(history.sheet, hints));
  try {
    await navigator.clipboard.writeText(link);
    // Some mail programs cut links after about 2,000 characters (common experience, no standard).
    notice(say(link.length > 2000 ? "notice.linkLong" : "notice.linkCopied", { count: link.length }));
  } catch {
    byId("link-text").value = link;
    byId("link-dialog").showModal();
    byId("link-text").select();
  }
}

async function openLink() {
  const fragment = location.hash;
  try {
    const found = await sheetIn(fragment);
    if (!found) return;
    // Without the fragment a reload brings back the work, not the exercise as it was sent.
    window.history.replaceState(null, "", location.href.split("#")[0]);
    history.put(found.sheet);
    opened();
    if (!found.hints) setHints(false);
    notice(say("notice.linkOpened"));
  } catch (error) {
    notice(say("notice.notOpened", { name: say("link"), why: say(error.message) }));
  }
}

async function offerSamples() {
  const text = await unpacked(byId("board-samples").textContent);
  files.offer(JSON.parse(new TextDecoder().decode(text)));
}

function dataIn(id) {
  try {
    return JSON.parse(byId(id)?.textContent ?? "null");
  } catch {
    return null;
  }
}
