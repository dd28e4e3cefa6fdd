// @ts-check
// What every other part uses: the data, its types, and making elements. What the data says is put in place as text,
// never as markup.
"use strict";

/** @typedef {[string, string, string?, number?, string?]} Step kind, label, room, spot, more */
/** @typedef {{steps: Step[], mark: string, because?: string, record?: string, findings?: number[]}} Path */
/** @typedef {{holder: number, name: string, short: string, mark: string, paths?: number[], findings?: number[],
 *   link?: string, since?: string, stations?: number[], perhaps?: number[], heard?: string[], free?: string,
 *   nights?: [string, string][]}} Spot */
/** @typedef {{kind: string, name: string, room?: string, rack?: string, unit?: string, more?: string,
 *   groups?: number[][][]}} Holder */
/** @typedef {{mac: string, maker?: string, device?: string, spot: number, grade?: string}} Station */
/** @typedef {{key: string, kind: string, severity: string, title: string, short: string, map: string, seen: string, advice: string,
 *   record?: string, since?: string, evidence?: string[], spot?: number, to?: number, path?: number,
 *   cause?: number, until?: string, reason?: string}} Finding */
/** @typedef {{story: string, sure: boolean, cautions?: string[], undo?: string[], others?: string[], decides?: string,
 *   findings?: number[]}} Cause */
/** @typedef {{name: string, x: number, y: number, state: string, up?: string, holder: number}} Box */
/** @typedef {{a: number, b: number, state: string, words: string, tree: boolean, spots: [number, number]}} Link */
/** @typedef {{words: string, label: string, kind: string, more: string, open: () => void}} Entry */

/** @type {{site: string, taken: string, asked: number, answered: number, holders: Holder[], spots: Spot[], paths: Path[], stations: Station[],
 *   findings: Finding[], causes: Cause[], gaps: {switch: string, table?: string}[], means: [string, string][],
 *   shape: {boxes?: Box[], lines?: Link[], width: number, height: number}}} */
const page = JSON.parse(id("data").textContent || "{}");
// What is empty was left out of the JSON.
const { holders = [], spots = [], paths = [], stations = [], findings = [], causes = [], gaps = [] } = page;
Object.assign(page, { holders, spots, paths, stations, findings, causes, gaps });

const SVG = "http://www.w3.org/2000/svg";
const CELL = 34,
  HIGH = 46,
  COLUMNS = 6,
  SHOWN = 12;
const KEYS = ["ArrowLeft", "ArrowRight", "ArrowUp", "ArrowDown", "Home", "End"];
const order = new Intl.Collator("en", { numeric: true, sensitivity: "base" });

/** @param {string} name @returns {HTMLElement} */
function id(name) {
  const found = document.getElementById(name);
  if (!found) throw new Error(`no element ${name}`);
  return found;
}
/** @param {string} tag @param {string} [words] @param {string} [style] @returns {HTMLElement} */
function make(tag, words, style) {
  const made = document.createElement(tag);
  if (words) made.textContent = words;
  if (style) made.className = style;
  return made;
}
/** @param {string} tag @param {Record<string, string | number>} with_ @param {string} [words] @returns {SVGElement} */
function draw(tag, with_, words) {
  const made = document.createElementNS(SVG, tag);
  for (const [name, value] of Object.entries(with_)) made.setAttribute(name, String(value));
  if (words !== undefined) made.textContent = words;
  return made;
}
/** @param {string} words @param {() => void} act @param {string} [style] */
function button(words, act, style) {
  const made = /** @type {HTMLButtonElement} */ (make("button", words, style));
  made.type = "button";
  made.addEventListener("click", act);
  return made;
}
/** @param {string} mark */
const style = (mark) => `m-${mark === "?" ? "unchecked" : mark}`;
/** @param {string} mark */
const meaning = (mark) => (page.means.find(([name]) => name === mark) || ["", ""])[1];
/** @param {string} mark */
const stamp = (mark) => make("span", mark, `stamp ${style(mark)}`);
/** @param {string} words */
const text = (words) => document.createTextNode(words);
/**
 * A clause as the beginning of a sentence.
 * @param {string} words
 */
const opened = (words) => words.slice(0, 1).toUpperCase() + words.slice(1);
/** True where the card lies over the page instead of beside it; the style has the same width. */
const narrow = () => matchMedia("(max-width: 1099px)").matches;
/**
 * One stop for Tab in a group, and keys that lead from one thing in it to the next: the roving tabindex of the W3C's ARIA
 * Authoring Practices ("Developing a Keyboard Interface"). What is drawn opens like a button, by Enter and by Space.
 * @param {Element} box
 * @param {(HTMLElement | SVGElement)[]} things
 * @param {(here: Element, key: string) => Element | undefined} onward where a key leads
 * @param {(there: Element) => void} [bring] into sight
 */
function rove(box, things, onward, bring = (there) => there.scrollIntoView({ block: "nearest", inline: "nearest" })) {
  const known = new Set(/** @type {EventTarget[]} */ (things));
  things.forEach((thing, n) => thing.setAttribute("tabindex", n ? "-1" : "0"));
  let stop = things[0];
  box.addEventListener("focusin", ({ target }) => {
    if (!target || !known.has(target)) return;
    stop.setAttribute("tabindex", "-1");
    stop = /** @type {SVGElement} */ (target);
    stop.setAttribute("tabindex", "0");
  });
  box.addEventListener("keydown", (event) => {
    const { key, target, altKey, ctrlKey, metaKey } = /** @type {KeyboardEvent} */ (event);
    if (!target || !known.has(target) || altKey || ctrlKey || metaKey) return;
    if (target instanceof SVGElement && (key === "Enter" || key === " ")) {
      event.preventDefault();
      target.dispatchEvent(new MouseEvent("click", { bubbles: true }));
    }
    if (!KEYS.includes(key)) return;
    event.preventDefault();
    const there = onward(/** @type {Element} */ (target), key);
    if (!(there instanceof HTMLElement || there instanceof SVGElement)) return;
    there.focus({ preventScroll: true });
    bring(there);
  });
}
/**
 * Where a key leads in a row or a column; a toolbar that wraps is a row.
 * @param {Element[]} row
 * @param {Element} here
 * @param {string} key
 */
function along(row, here, key) {
  if (key === "Home") return row[0];
  if (key === "End") return row[row.length - 1];
  return row[row.indexOf(here) + (key === "ArrowRight" || key === "ArrowDown" ? 1 : -1)];
}
