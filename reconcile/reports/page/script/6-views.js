// @ts-check
// Free sockets, the network's shape, and turning from view to view.

/** @param {string[]} heads @param {Node[][]} rows */
function table(heads, rows) {
  const made = make("table"),
    head = make("tr"),
    body = make("tbody");
  head.append(
    ...heads.map((words) => {
      const th = make("th", words);
      th.setAttribute("scope", "col");
      return th;
    }),
  );
  for (const cells of rows) {
    const row = make("tr");
    row.append(
      ...cells.map((cell) => {
        const td = make("td");
        td.append(cell);
        return td;
      }),
    );
    body.append(row);
  }
  const top = make("thead");
  top.append(head);
  made.append(top, body);
  return made;
}
let freeDrawn = false,
  shapeDrawn = false;
function drawFree() {
  freeDrawn = true;
  /** @param {string} name @param {string} where @param {number[]} spots @param {(spot: Spot) => string} words */
  const line = (name, where, spots, words) => {
    const row = make("li"),
      head = make("div"),
      box = make("div", "", "picks");
    head.append(make("strong", name), text(` (${spots.length}) `), make("span", where, "soft"));
    row.append(head, box);
    spots.sort((a, b) => order.compare(page.spots[a].name, page.spots[b].name));
    box.append(
      ...spots.map((s) => {
        const one = button(words(page.spots[s]), () => openSpot(s));
        one.setAttribute("aria-label", `${words(page.spots[s])}, ${page.spots[s].name}`);
        return one;
      }),
    );
    return row;
  };
  /** @param {string} kind @param {string} mark */
  const free = (kind, mark) =>
    page.holders
      .filter((h) => h.kind === kind)
      .map((h) => ({ h, spots: (h.groups || []).flat(2).filter((s) => page.spots[s].mark === mark) }))
      .filter(({ spots }) => spots.length);
  /** @param {string} kind @param {string} mark */
  const byHolder = (kind, mark) =>
    free(kind, mark).map(({ h, spots }) =>
      line(h.name, [h.room, h.rack].filter(Boolean).join(", "), spots, (spot) => spot.short),
    );
  /** @type {Map<string, number[]>} */
  const inRooms = new Map();
  for (const { h, spots } of free("outlet", "spare"))
    inRooms.set(h.room || "no room", [...(inRooms.get(h.room || "no room") || []), ...spots]);
  const outlets = [...inRooms]
    .sort(([a], [b]) => order.compare(a, b))
    .map(([name, spots]) => line(name, "", spots, (spot) => spot.name));
  /** @type {[string, HTMLElement[]][]} */
  const parts = [
    ["Switch ports with nothing in the map and no link", byHolder("switch", "free")],
    ["Outlets that are wired to a panel and not patched there", outlets],
    ["Panel jacks that are wired and not patched", byHolder("panel", "spare")],
    ["Panel jacks with nothing on either side", byHolder("panel", "bare")],
  ];
  id("free-list").replaceChildren(
    ...parts.flatMap(([head, rows]) => {
      const box = make("ul", "", "free");
      box.append(...rows);
      return [make("h3", head), rows.length ? box : make("p", "none")];
    }),
  );
}
/** @type {Record<string, string>} */
const LINES = {
  "as documented": "l-both",
  "only in the map": "l-map",
  "only seen": "l-seen",
  "not looked at": "l-unseen",
};
function drawShape() {
  shapeDrawn = true;
  const boxes = page.shape.boxes || [],
    lines = page.shape.lines || [];
  const W = 176,
    H = 36,
    rings = lines.filter((l) => !l.tree).length;
  const svg = draw("svg", {
    width: page.shape.width + 30 + Math.min(rings, 12) * 10,
    height: page.shape.height + 8,
    role: "img",
    "aria-label": `${boxes.length} switches and ${lines.length} links; the list below says the same in words`,
  });
  let ringed = 0;
  const thickFirst = [...lines].sort((a, b) => Number(b.state === "only seen") - Number(a.state === "only seen"));
  for (const line of thickFirst) {
    const a = boxes[line.a],
      b = boxes[line.b];
    const ay = a.y + H / 2 + 4,
      by = b.y + H / 2 + 4;
    const side = line.tree ? 0 : 9; // a second link between two switches runs beside the branch
    const right = a.x + W + 2,
      bus = right + 19 + side / 2;
    let d = `M${right} ${ay + side}H${bus}V${by + side}H${b.x + 2}`;
    if (b.x <= a.x) {
      const bow = right + 16 + (ringed++ % 12) * 10;
      d = `M${right} ${ay + side}H${bow}V${by + side}H${b.x + W + 2}`;
    }
    const path = draw("path", { d, class: LINES[line.state] || "" });
    path.append(draw("title", {}, `${line.words}: ${line.state}`));
    path.addEventListener("click", () => openLink(line));
    svg.append(path);
  }
  boxes.forEach((box, number) => {
    const g = draw("g", {
      class: box.state === "answered" ? "answered" : "quiet",
      transform: `translate(${box.x + 2} ${box.y + 4})`,
    });
    const short = box.name.length > 22 ? `${box.name.slice(0, 21)}…` : box.name;
    const under = box.state === "answered" ? box.up || "" : box.state;
    g.append(
      draw("rect", { width: W, height: H }),
      draw("text", { x: 8, y: under ? 15 : 22 }, short),
      draw("text", { x: 8, y: 29, class: "small" }, under),
      draw("title", {}, `${box.name}: ${box.state}`),
    );
    g.addEventListener("click", () => openBox(number));
    svg.append(g);
  });
  id("map").replaceChildren(svg);
  for (const words of svg.querySelectorAll("text")) {
    if (words.getComputedTextLength() > W - 14) words.setAttribute("textLength", String(W - 14));
    words.setAttribute("lengthAdjust", "spacingAndGlyphs");
  }
  const body = /** @type {HTMLElement} */ (id("links").querySelector("tbody"));
  const sorted = [...lines].sort((a, b) => Number(a.state === "as documented") - Number(b.state === "as documented"));
  for (const line of sorted) {
    const row = make("tr"),
      name = make("td");
    name.append(button(line.words, () => openLink(line), "plain"));
    row.append(name, make("td", line.state));
    body.append(row);
  }
  id("line-legend").replaceChildren(
    ...Object.entries(LINES).map(([words, look]) => {
      const item = make("li"),
        svg2 = draw("svg", { width: 46, height: 12, class: "line", "aria-hidden": "true" });
      svg2.append(draw("path", { d: "M2 6H44", class: look }));
      const holder = make("span", "", "map-line");
      holder.append(svg2);
      item.append(holder, make("span", words));
      return item;
    }),
  );
}
const VIEWS = ["wrong", "racks", "rooms", "free", "shape", "gaps"];
/** @param {string} name */
function turn(name) {
  const wanted = VIEWS.includes(name) ? name : "wrong";
  for (const view of VIEWS) id(`view-${view}`).hidden = view !== wanted;
  for (const link of document.querySelectorAll("nav.views a")) {
    if (link.getAttribute("href") === `#${wanted}`) link.setAttribute("aria-current", "page");
    else link.removeAttribute("aria-current");
  }
  if (wanted === "racks" && !rack) showRack(worst(racks));
  if (wanted === "rooms" && !room) showRoom(worst(rooms));
  if (wanted === "free" && !freeDrawn) drawFree();
  if (wanted === "shape" && !shapeDrawn) drawShape();
  if (location.hash !== `#${wanted}`) history.replaceState(null, "", `#${wanted}`);
}
