// @ts-check
// Free sockets, and turning from view to view.

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
    box.setAttribute("role", "toolbar");
    box.setAttribute("aria-label", name);
    spots.sort((a, b) => order.compare(page.spots[a].name, page.spots[b].name));
    box.append(
      ...spots.map((s) => {
        const one = button(words(page.spots[s]), () => openSpot(s));
        one.setAttribute("aria-label", `${words(page.spots[s])}, ${page.spots[s].name}`);
        return one;
      }),
    );
    const all = /** @type {HTMLElement[]} */ ([...box.children]);
    rove(box, all, (here, key) => along(all, here, key));
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
