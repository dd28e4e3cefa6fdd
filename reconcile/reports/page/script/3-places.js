// @ts-check
// Racks and rooms: which fronts stand together.

/** @param {Holder} h */
const rackOf = (h) =>
  h.kind === "outlet" ? "" : h.rack ? [h.room, h.rack].filter(Boolean).join(", rack ") : h.room || "no rack in the map";
/** @param {(h: Holder) => string} nameOf @returns {Map<string, number[]>} */
function gathered(nameOf) {
  /** @type {Map<string, number[]>} */
  const found = new Map();
  page.holders.forEach((h, n) => {
    const name = nameOf(h);
    if (name) found.set(name, [...(found.get(name) || []), n]);
  });
  return new Map([...found].sort(([a], [b]) => order.compare(a, b)));
}
const racks = gathered(rackOf);
for (const list of racks.values()) {
  list.sort((a, b) => (parseFloat(page.holders[b].unit || "0") || 0) - (parseFloat(page.holders[a].unit || "0") || 0));
}
const rooms = gathered((h) => (h.kind === "outlet" ? h.room || "no room in the map" : ""));
let rack = "",
  room = "";

/** @param {number[]} holders @returns {number} */
function wrongs(holders) {
  const all = new Set();
  for (const h of holders)
    for (const row of (page.holders[h].groups || []).flat())
      for (const s of row) wrongAt(page.spots[s]).forEach((f) => all.add(f));
  return all.size;
}
/**
 * Where most differences are.
 * @param {Map<string, number[]>} names
 */
const worst = (names) =>
  [...names.keys()].reduce(
    (a, b) => (wrongs(names.get(b) || []) > wrongs(names.get(a) || []) ? b : a),
    [...names.keys()][0] || "",
  );
/** @param {string} where @param {Map<string, number[]>} names @param {(name: string) => void} choose */
function picks(where, names, choose) {
  const box = id(where);
  box.classList.toggle("many", names.size > 24);
  for (const [name, holders] of names) {
    const found = wrongs(holders);
    const made = button(found ? `${name} (${found} wrong)` : name, () => choose(name));
    made.dataset.name = name;
    box.append(made);
  }
  const all = /** @type {HTMLElement[]} */ ([...box.children]);
  rove(box, all, (here, key) => along(all, here, key));
}
/** @param {string} where @param {string} name */
function press(where, name) {
  for (const one of id(where).querySelectorAll("button"))
    one.setAttribute("aria-pressed", String(one.dataset.name === name));
}
/** @param {string} name */
function showRack(name) {
  rack = name;
  press("rack-picks", name);
  id("fronts").replaceChildren(...(racks.get(name) || []).map(front));
  chosen();
}
/** @param {string} name */
function showRoom(name) {
  room = name;
  press("room-picks", name);
  const box = make("div", "", "plates");
  for (const n of rooms.get(name) || []) {
    const plate = front(n),
      list = make("ul");
    for (const s of (page.holders[n].groups || []).flat(2)) {
      const item = make("li", `${page.spots[s].short}: ${far(page.spots[s])}`);
      list.append(item);
    }
    plate.append(list);
    box.append(plate);
  }
  id("plates").replaceChildren(box);
  chosen();
}
/**
 * What an outlet's jack is for, in words.
 * @param {Spot} spot
 */
function far(spot) {
  const path = page.paths[(spot.paths || [])[0]];
  if (!path) return "no cable in the map";
  const named = (/** @type {string} */ kind) => path.steps.filter((step) => step[0] === kind).map((step) => step[1]);
  const device = named("device")[0],
    port = named("port")[0],
    jack = named("jack")[0];
  if (port) return `${device || "nobody in the map"}, on ${port}`;
  return [device, jack ? `wired to ${jack}` : "", "not patched to a switch"].filter(Boolean).join(", ");
}
