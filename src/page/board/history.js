// Undo and redo without limit. Sheets never change and share their lines, so the history simply keeps every sheet there
// was; a step costs only what it changed.

/** The sheets there were, and which of them is the present one. */
export class History {
  #past = [];
  #future = [];
  #now;
  #listeners = [];

  constructor(sheet) {
    this.#now = sheet;
  }

  /** The present sheet. */
  get sheet() {
    return this.#now;
  }

  get canUndo() {
    return this.#past.length > 0;
  }

  get canRedo() {
    return this.#future.length > 0;
  }

  /** Calls back after every change with the present sheet. */
  onChange(listener) {
    this.#listeners.push(listener);
  }

  /** Makes a sheet the present one; what had been undone can no longer be redone. */
  put(sheet) {
    if (sheet === this.#now) return;
    this.#past.push(this.#now);
    this.#future = [];
    this.#turnTo(sheet);
  }

  /** Goes back one step; says whether there was one. */
  undo() {
    if (!this.canUndo) return false;
    this.#future.push(this.#now);
    this.#turnTo(this.#past.pop());
    return true;
  }

  /** Goes forward again; says whether there was a step. */
  redo() {
    if (!this.canRedo) return false;
    this.#past.push(this.#now);
    this.#turnTo(this.#future.pop());
    return true;
  }

  #turnTo(sheet) {
    this.#now = sheet;
    for (const listener of this.#listeners) listener(sheet);
  }
}
