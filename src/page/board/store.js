// Work in progress outlives a reload: the present sheet and the settings are kept in the browser's own storage. Some browsers
// allow none for a page from a USB stick; then nothing is kept, and nothing is said.

import { fromJson, toOwnJson } from "./sheet.js";

const KEY = "foldback.board";

/** Keeps the sheet and the settings. */
export function keep(sheet, settings) {
  try {
    localStorage.setItem(KEY, JSON.stringify({ ...toOwnJson(sheet), settings }));
  } catch {
    // No storage, or it is full: drawing goes on without.
  }
}

/** What was kept, as `{sheet, settings}`, or null. */
export function kept() {
  try {
    const data = JSON.parse(localStorage.getItem(KEY));
    const settings = typeof data.settings === "object" && data.settings !== null ? data.settings : {};
    return { sheet: fromJson(data), settings };
  } catch {
    return null;
  }
}
