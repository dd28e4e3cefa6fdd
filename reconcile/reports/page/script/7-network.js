// @ts-check
// The network's shape: switches, and the links between them.

/** @type {Record<string, string>} */
const LINES = {
  "as documented": "l-both",
  "only in the map": "l-map",
  "only seen": "l-seen",
  "not looked at": "l-unseen",
};
const BOX_WIDE = 176,
  BOX_HIGH = 36;
/** @typedef {{drawn: SVGElement, line?: Link, x: number, y: number}} Thing a switch or a link of the drawing, and its column */

function drawShape() {
  shapeDrawn = true;
  const boxes = page.shape.boxes || [],
    lines = page.shape.lines || [];
  const rings = lines.filter((l) => !l.tree).length;
  const svg = draw("svg", {
    width: page.shape.width + 30 + Math.min(rings, 12) * 10,
    height: page.shape.height + 8,
    role: "group",
    "aria-label": `Drawing of ${boxes.length} switches and ${lines.length} links`,
    "aria-describedby": "map-keys",
  });
  let ringed = 0;
  const drawnLines = lines.map((line) => drawLink(line, boxes[line.a], boxes[line.b], () => ringed++));
  const drawnBoxes = boxes.map(drawBox);
  const thick = (/** @type {number} */ n) => Number(lines[n].state === "only seen");
  svg.append(...lines.map((_, n) => n).sort((a, b) => thick(b) - thick(a)).map((n) => drawnLines[n]), ...drawnBoxes);
  id("map").replaceChildren(svg);
  for (const words of svg.querySelectorAll("text")) {
    if (words.getComputedTextLength() > BOX_WIDE - 14) words.setAttribute("textLength", String(BOX_WIDE - 14));
    words.setAttribute("lengthAdjust", "spacingAndGlyphs");
  }
  followLinks(drawnBoxes, drawnLines);
  listLinks(lines);
  id("line-legend").replaceChildren(...Object.entries(LINES).map(([words, look]) => lineKey(words, look)));
}
/**
 * A link as a branch of the tree, beside it, or as a bow; under it a broad band, for a finger and for the mark of focus.
 * @param {Link} line @param {Box} a @param {Box} b @param {() => number} bow the number of the next bow
 */
function drawLink(line, a, b, bow) {
  const side = line.tree ? 0 : 9; // a second link between two switches runs beside the branch
  const ay = a.y + BOX_HIGH / 2 + 4 + side,
    by = b.y + BOX_HIGH / 2 + 4 + side,
    right = a.x + BOX_WIDE + 2;
  const bowed = b.x <= a.x;
  const bus = bowed ? right + 16 + (bow() % 12) * 10 : right + 19 + side / 2;
  const d = `M${right} ${ay}H${bus}V${by}H${bowed ? b.x + BOX_WIDE + 2 : b.x + 2}`;
  const g = draw("g", { class: "link", role: "button", "aria-label": `Link ${line.words}: ${line.state}` });
  g.append(
    draw("path", { d, class: "band" }),
    draw("path", { d, class: LINES[line.state] || "" }),
    draw("title", {}, `${line.words}: ${line.state}`),
  );
  g.addEventListener("click", () => openLink(line));
  return g;
}
/** @param {Box} box @param {number} number */
function drawBox(box, number) {
  const short = box.name.length > 22 ? `${box.name.slice(0, 21)}…` : box.name;
  const under = box.state === "answered" ? box.up || "" : box.state;
  const g = draw("g", {
    class: `switch ${box.state === "answered" ? "answered" : "quiet"}`,
    transform: `translate(${box.x + 2} ${box.y + 4})`,
    role: "button",
    "aria-label": `Switch ${box.name}: ${box.state}`,
  });
  g.append(
    draw("rect", { width: BOX_WIDE, height: BOX_HIGH }),
    draw("text", { x: 8, y: under ? 15 : 22 }, short),
    draw("text", { x: 8, y: 29, class: "small" }, under),
    draw("title", {}, `${box.name}: ${box.state}`),
  );
  g.addEventListener("click", () => openBox(number));
  return g;
}
/**
 * Keys in the drawing: left and right go from a switch along a link to the next switch, up and down from a switch to the
 * next one in its column, or from a link to the next one that starts in this column. So every link can be reached.
 * @param {SVGElement[]} drawnBoxes @param {SVGElement[]} drawnLines
 */
function followLinks(drawnBoxes, drawnLines) {
  const { boxes = [], lines = [] } = page.shape;
  /** @type {Thing[]} */
  const switches = boxes.map(({ x, y }, n) => ({ drawn: drawnBoxes[n], x, y }));
  /** @type {Thing[]} */
  const links = lines.map((line, n) => ({ drawn: drawnLines[n], line, x: boxes[line.a].x, y: boxes[line.b].y }));
  const things = [...switches, ...links].sort((one, other) => one.x - other.x || one.y - other.y);
  const thingOf = new Map(things.map((thing) => [/** @type {Element} */ (thing.drawn), thing]));
  /** @param {(line: Link) => boolean} fits the topmost link that does */
  const link = (fits) => (things.find(({ line }) => line && fits(line)) || {}).drawn;
  /** @param {Element} here @param {string} key */
  const onward = (here, key) => {
    const { line, x } = /** @type {Thing} */ (thingOf.get(here));
    const at = drawnBoxes.indexOf(/** @type {SVGElement} */ (here));
    if (key === "ArrowLeft") return line ? drawnBoxes[line.a] : link((one) => one.b === at && one.tree) || link((one) => one.b === at);
    if (key === "ArrowRight") return line ? drawnBoxes[line.b] : link((one) => one.a === at) || link((one) => one.b === at && boxes[one.a].x === x);
    const column = things.filter((thing) => !thing.line === !line && thing.x === x);
    return along(column.map((thing) => thing.drawn), here, key);
  };
  // Not on the drawing itself: a browser takes an SVG that listens for focus for a stop of its own.
  rove(id("map"), [...drawnBoxes, ...drawnLines], onward, (there) => {
    const { line } = /** @type {Thing} */ (thingOf.get(there));
    // A long link is shown at its further end, where no other one runs.
    for (const one of line ? [there, drawnBoxes[line.b]] : [there])
      one.scrollIntoView({ block: "nearest", inline: "nearest" });
  });
}
/**
 * The same in words, what differs first.
 * @param {Link[]} lines
 */
function listLinks(lines) {
  const body = /** @type {HTMLElement} */ (id("links").querySelector("tbody"));
  const sorted = [...lines].sort((a, b) => Number(a.state === "as documented") - Number(b.state === "as documented"));
  const names = sorted.map((line) => button(line.words, () => openLink(line), "plain"));
  names.forEach((name, n) => {
    const row = make("tr"),
      cell = make("td");
    cell.append(name);
    row.append(cell, make("td", sorted[n].state));
    body.append(row);
  });
  rove(body, names, (here, key) => along(names, here, key));
}
/** @param {string} words @param {string} look */
function lineKey(words, look) {
  const item = make("li"),
    svg = draw("svg", { width: 46, height: 12, class: "line", "aria-hidden": "true" }),
    holder = make("span", "", "map-line");
  svg.append(draw("path", { d: "M2 6H44", class: look }));
  holder.append(svg);
  item.append(holder, make("span", words));
  return item;
}
