// @ts-check
// Draws the fronts of switches, panels and outlets.

/**
 * The outline of a socket: each mark has its own shape.
 * @param {string} mark
 * @param {number} x
 * @param {number} y
 */
function outline(mark, x, y) {
  const w = 30,
    h = 24;
  /** @type {Record<string, string>} */
  const shapes = {
    ok: `M${x} ${y + 5}q0-5 5-5h${w - 10}q5 0 5 5v${h - 5}h${-w}z`,
    wrong: `M${x + 6} ${y}h${w - 12}l6 6v${h - 12}l-6 6h${12 - w}l-6-6v${12 - h}z`,
    silent: `M${x + 12} ${y}h${w - 24}a12 12 0 0 1 0 ${h}h${24 - w}a12 12 0 0 1 0 ${-h}z`,
    "?": `M${x + w / 2} ${y}l${w / 2} ${h / 2}l${-w / 2} ${h / 2}l${-w / 2} ${-h / 2}z`,
    waived: `M${x + 6} ${y}h${w - 12}l6 ${h / 2}l-6 ${h / 2}h${12 - w}l-6 ${-h / 2}z`,
    new: `M${x} ${y}h${w}v${h - 6}l${-w / 2} 6l${-w / 2}-6z`,
  };
  return shapes[mark] || `M${x} ${y}h${w}v${h}h${-w}z`;
}

/**
 * The word in a socket; long ones are set to its width, whatever font there is.
 * @param {string} mark
 * @param {number} x
 * @param {number} y
 */
function word(mark, x, y) {
  return draw(
    "text",
    { class: "word", x, y, ...(mark.length > 4 ? { textLength: 24, lengthAdjust: "spacingAndGlyphs" } : {}) },
    mark,
  );
}
/** @param {number} number @param {number} x @param {number} y */
function socket(number, x, y) {
  const spot = page.spots[number];
  const differing = (spot.findings || []).length > 0;
  const found = wrongAt(spot).length > 0;
  const told = found ? ", difference" : differing ? ", accepted difference" : "";
  const g = draw("g", {
    class: `spot ${style(spot.mark)}`,
    role: "button",
    tabindex: -1,
    "data-spot": number,
    "aria-label": `${spot.name}: ${spot.mark === "?" ? "not looked at" : spot.mark}${told}${user(spot)}`,
  });
  g.append(
    draw("rect", { class: "ring", x: x + 1, y: y + 1, width: CELL - 2, height: HIGH - 2, rx: 3 }),
    draw("text", { class: "no", x: x + CELL / 2, y: y + 13 }, spot.short),
    draw("path", { class: "case", d: outline(spot.mark, x + 2, y + 18) }),
    word(spot.mark, x + CELL / 2, y + 34),
    draw("title", {}, `${spot.name}: ${meaning(spot.mark)}${user(spot)}`),
  );
  if (differing) g.append(draw("path", { class: found ? "flag" : "flag accepted", d: `M${x + 23} ${y + 3}h10v11z` }));
  return g;
}
/**
 * The differences at a socket that nobody accepted.
 * @param {Spot} spot
 */
const wrongAt = (spot) => (spot.findings || []).filter((number) => !page.findings[number].until);
/**
 * Who the map has at a socket.
 * @param {Spot} spot
 */
function user(spot) {
  const path = page.paths[(spot.paths || [])[0]];
  const last = path && path.steps[path.steps.length - 1];
  return last && last[1] !== spot.name ? `, ${last[1]}` : "";
}

/**
 * One switch, panel or outlet with its sockets where they are.
 * @param {number} number
 */
function front(number) {
  const holder = page.holders[number];
  const box = make("article", "", "front");
  const head = make("header");
  if (holder.unit) head.append(make("span", `U${holder.unit}`, "unit"));
  head.append(
    make("h3", holder.name),
    make("span", [holder.kind, holder.more].filter(Boolean).join(", "), "more soft"),
  );
  box.append(head);
  /** @type {SVGElement[][]} */
  const grid = [];
  for (const group of holder.groups || []) {
    const line = make("div", "", "group");
    const length = Math.max(...group.map((row) => row.length));
    const top = grid.length;
    group.forEach(() => grid.push([]));
    for (let from = 0; from < length; from += COLUMNS) {
      const columns = Math.min(COLUMNS, length - from);
      const svg = draw("svg", {
        class: "block",
        width: columns * CELL + 4,
        height: group.length * HIGH + 2,
        role: "group",
        "aria-label": `${holder.name}, columns ${from + 1} to ${from + columns}`,
      });
      group.forEach((row, at) =>
        row.slice(from, from + columns).forEach((spot, column) => {
          const made = socket(spot, 2 + column * CELL, at * HIGH);
          grid[top + at].push(made);
          svg.append(made);
        }),
      );
      line.append(svg);
    }
    box.append(line);
  }
  walk(box, grid);
  return box;
}
/**
 * One stop for Tab per front; arrow keys go from socket to socket.
 * @param {HTMLElement} box
 * @param {SVGElement[][]} grid
 */
function walk(box, grid) {
  rove(box, grid.flat(), (here, key) => {
    const row = grid.findIndex((cells) => cells.includes(/** @type {SVGElement} */ (here)));
    if (key !== "ArrowUp" && key !== "ArrowDown") return along(grid[row], here, key);
    return (grid[row + (key === "ArrowUp" ? -1 : 1)] || [])[grid[row].indexOf(/** @type {SVGElement} */ (here))];
  });
  box.addEventListener("click", (event) => {
    const here = /** @type {Element} */ (event.target).closest(".spot");
    if (here) openSpot(spotOf(here));
  });
}
/** @param {Element} element */
const spotOf = (element) => Number(element.getAttribute("data-spot"));
