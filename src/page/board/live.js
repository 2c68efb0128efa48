// The answer while one draws: every change of the sheet goes to the engine, whole; what comes back is shown as verdict,
// marks, solid and corrections, unless the sheet has changed again meanwhile. Drawing never waits for any of it.

import { marksOf, plain, understood } from "./answer.js";
import { Overtaken } from "./engine.js";
import { mended, previewOf } from "./mends.js";
import { inUnit, toJson } from "./sheet.js";
import { differing } from "./solid.js";
import { say } from "./words.js";

// Strokes that follow each other faster than this are asked about together.
const SETTLE = 4;
// After this long without an answer the old verdict goes.
const PATIENT = 400;
const READINGS = 8;

/** Asks the engine about each sheet and shows what it says. */
export class Live {
  #engine;
  #history;
  #parts;
  #hints = true;
  #sheet = null;
  #answer = null;
  #meaning = plain("empty");
  #reading = 0;
  #differs = [];
  #asking = 0;
  #settle = 0;
  #slow = 0;

  /** `parts`: `paper`, `answer`, `solid`, `mends`, `page` (the elements around the solid), `notice`. */
  constructor(engine, history, parts) {
    [this.#engine, this.#history, this.#parts] = [engine, history, parts];
    engine.prepare("live");
    history.onChange((sheet) => this.ask(sheet));
  }

  /** The reading shown, counted from 1, or null if there is none. */
  get reading() {
    return this.#solid ? this.#reading + 1 : null;
  }

  /** The options that go with every question about a sheet, so that readings keep their numbers. */
  question(what) {
    const { sheet } = this.#history;
    return { do: what, sheet: toJson(sheet), limit: READINGS, ...sheet.rules };
  }

  /** Switches marks, reasons and corrections on or off. */
  set hints(on) {
    this.#hints = on;
    this.#show();
    this.#lookForMends();
  }

  /** Asks about a sheet, soon. */
  ask(sheet) {
    clearTimeout(this.#settle);
    clearTimeout(this.#slow);
    this.#engine.giveUp("mend");
    this.#asking = performance.now();
    this.#settle = setTimeout(() => this.#asked(sheet), SETTLE);
    this.#slow = setTimeout(() => this.#conclude(sheet, null, plain("waiting")), PATIENT);
  }

  /** Shows the next or previous reading. */
  step(by) {
    const count = this.#answer?.solids?.length ?? 0;
    if (count === 0) return;
    this.#reading = (this.#reading + by + count) % count;
    this.#showSolid();
  }

  /** Previews corrections on the sheet; null ends the preview. */
  preview(changes) {
    const marks = this.#hints ? marksOf(this.#history.sheet, this.#meaning) : [];
    this.#parts.paper.mark(changes ? previewOf(this.#history.sheet, changes) : marks);
  }

  /** Applies a correction as one step of the history. */
  apply(mend) {
    this.#history.put(mended(this.#history.sheet, mend));
    this.#parts.notice(say("mendApplied"));
  }

  /** Shows which look is on. */
  looked(name) {
    this.#parts.page.look(name, this.#solid && this.#sizes());
  }

  get #solid() {
    return this.#answer?.solids?.[this.#reading] ?? null;
  }

  async #asked(sheet) {
    if (sheet.lines.length === 0) return this.#conclude(sheet, null, understood(sheet, {}));
    try {
      const answer = await this.#engine.ask(this.question("check"), "live");
      if (sheet === this.#history.sheet) this.#conclude(sheet, answer, understood(sheet, answer));
    } catch (error) {
      if (error instanceof Overtaken || sheet !== this.#history.sheet) return;
      const why = error instanceof TypeError ? say("noReply") : say("stopped");
      this.#conclude(sheet, null, plain("trouble", say("text.trouble", { why })));
    }
  }

  #conclude(sheet, answer, meaning) {
    clearTimeout(this.#slow);
    const shown = meaning.state === "unique" || meaning.state === "ambiguous" || meaning.state === "undecided";
    [this.#sheet, this.#meaning, this.#reading] = [sheet, meaning, 0];
    this.#answer = shown ? answer : null;
    this.#differs = shown && answer.solids.length > 1 ? differing(answer.solids) : [];
    this.#show();
    if (answer) this.#parts.answer.took(performance.now() - this.#asking);
    this.#lookForMends();
  }

  #show() {
    this.#parts.answer.show(this.#meaning, this.#hints);
    this.preview(null);
    this.#showSolid();
  }

  #showSolid() {
    const count = this.#answer?.solids?.length ?? 0;
    this.#parts.solid.show(this.#solid, this.#sheet, this.#differs[this.#reading]);
    this.#parts.page.readings(this.#reading, count, this.#solid && this.#sizes());
  }

  #sizes() {
    const [w, d, h] = this.#solid.size.map((mm) => inUnit(this.#sheet, mm));
    return say("size", { w, d, h });
  }

  async #lookForMends() {
    const { page, mends } = this.#parts;
    const wanted = this.#hints && this.#meaning.state === "contradictory";
    page.mends(wanted);
    mends.clear();
    if (!wanted) return;
    mends.wait();
    const sheet = this.#sheet;
    try {
      const answer = await this.#engine.ask(this.question("mend"), "mend");
      if (sheet !== this.#history.sheet) return;
      if (answer.error || !Array.isArray(answer.mends)) page.mends(false);
      else mends.show(sheet, answer.mends);
    } catch (error) {
      if (!(error instanceof Overtaken) && sheet === this.#history.sheet) page.mends(false);
    }
  }
}
