// A whole sheet in the part of a link after `#`, which browsers never send to a server. The sheet is JSON, compressed where the
// browser can, in letters that survive in a link. Whoever made the link may mean harm: what comes out is only ever read as
// data, and no more of it than a sheet can need.

import { fromJson, toOwnJson } from "./sheet.js";

const MOST_LETTERS = 400000;
const MOST_BYTES = 8000000;

/** The fragment, with `#`, that carries a sheet; `hints` false makes it an exercise. */
export async function fragmentOf(sheet, hints = true) {
  const data = toOwnJson(sheet);
  data.lines = data.lines.map(compact);
  if (!hints) data.hints = false;
  const bytes = new TextEncoder().encode(JSON.stringify(data));
  if (typeof CompressionStream === "undefined") return `#sheet=0${lettersOf(bytes)}`;
  const packed = await piped(bytes, new CompressionStream("deflate-raw"));
  return `#sheet=1${lettersOf(packed)}`;
}

/** The sheet in a fragment as `{sheet, hints}`, or null if it carries none. Throws an `Error` with a key of the words. */
export async function sheetIn(fragment) {
  const match = /^#sheet=([01])([A-Za-z0-9_-]*)$/.exec(fragment);
  if (!match) {
    if (fragment.startsWith("#sheet=")) throw new Error("badLink");
    return null;
  }
  if (match[2].length > MOST_LETTERS) throw new Error("tooLarge");
  const data = await dataOf(match[1] === "1", match[2]);
  return { sheet: fromJson(data), hints: data.hints !== false };
}

async function dataOf(packed, letters) {
  try {
    const bytes = bytesOf(letters);
    const plain = packed ? await piped(bytes, new DecompressionStream("deflate-raw")) : bytes;
    return JSON.parse(new TextDecoder().decode(plain));
  } catch (error) {
    throw error.message === "tooLarge" ? error : new Error("badLink");
  }
}

/** Visible is what a line is if nothing is said, so nothing needs be said. */
function compact(line) {
  const { type, ...rest } = line;
  return type === "visible" ? rest : line;
}

/** Bytes through a stream, given up when more comes out than a sheet can be: a small link must not fill the memory. */
async function piped(bytes, stream) {
  const writer = stream.writable.getWriter();
  // A damaged stream fails on both sides; the reader below is the one that tells.
  writer.write(bytes).catch(() => {});
  writer.close().catch(() => {});
  const reader = stream.readable.getReader();
  const parts = [];
  let long = 0;
  for (;;) {
    const { done, value } = await reader.read();
    if (done) break;
    long += value.length;
    if (long > MOST_BYTES) {
      await reader.cancel();
      throw new Error("tooLarge");
    }
    parts.push(value);
  }
  const whole = new Uint8Array(long);
  let at = 0;
  for (const part of parts) {
    whole.set(part, at);
    at += part.length;
  }
  return whole;
}

function lettersOf(bytes) {
  let text = "";
  for (let i = 0; i < bytes.length; i += 8192) text += String.fromCharCode(...bytes.subarray(i, i + 8192));
  return btoa(text).replaceAll("+", "-").replaceAll("/", "_").replaceAll("=", "");
}

function bytesOf(letters) {
  const text = atob(letters.replaceAll("-", "+").replaceAll("_", "/"));
  return Uint8Array.from(text, (letter) => letter.charCodeAt(0));
}
