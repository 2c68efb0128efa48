// Building the page's elements as data: text only ever becomes text, so a sheet or a link can bring no markup of its own.
// Elements of index.html name the words they carry, and are filled here.

import { say } from "./words.js";

const SVG = "http://www.w3.org/2000/svg";

/** The element with an id. */
export function byId(id) {
  return document.getElementById(id);
}

/** A new HTML element with properties, attributes (`aria-…`, `data-…`, `for`, `role`) and children. */
export function make(tag, properties = {}, ...children) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(properties)) {
    if (name in element && !name.startsWith("aria")) element[name] = value;
    else element.setAttribute(name, value);
  }
  element.append(...children);
  return element;
}

/** A new SVG element with attributes. */
export function draw(tag, attributes = {}, text = null) {
  const element = document.createElementNS(SVG, tag);
  for (const [name, value] of Object.entries(attributes)) element.setAttribute(name, value);
  if (text !== null) element.textContent = text;
  return element;
}

/** Puts the words into all elements that ask for them: `data-words` as text, `data-label` as the name read aloud. */
export function fillWords(root) {
  for (const element of root.querySelectorAll("[data-words]")) element.textContent = say(element.dataset.words);
  for (const element of root.querySelectorAll("[data-label]")) {
    element.setAttribute("aria-label", say(element.dataset.label));
  }
}

/** Offers bytes or text as a file to keep. */
export function saveAs(name, content, type) {
  const url = URL.createObjectURL(new Blob([content], { type }));
  const link = make("a", { href: url, download: name, hidden: true });
  document.body.append(link);
  link.click();
  link.remove();
  // The browser needs the address until it has begun to write.
  setTimeout(() => URL.revokeObjectURL(url), 10000);
}
