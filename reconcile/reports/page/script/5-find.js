// @ts-check
// Finds things while somebody types.

/** @param {string} words */
const folded = (words) => words.toLowerCase().normalize("NFKC").trim();
/** @returns {Entry[]} */
function entries() {
  /** @type {Entry[]} */
  const all = [];
  /** @param {string} label @param {string} kind @param {string} more @param {() => void} open @param {string} [also] */
  const add = (label, kind, more, open, also = "") =>
    all.push({ words: folded(`${label} ${also}`), label, kind, more, open });
  const cords = new Set(),
    devices = new Set();
  page.paths.forEach((path, n) => {
    const ends = `${path.steps[0][1]} to ${path.steps[path.steps.length - 1][1]}`;
    for (const [kind, label, where, , more] of path.steps) {
      if (kind === "device" && !devices.has(label)) {
        devices.add(label);
        add(label, kind, [where, ends].filter(Boolean).join(", "), () => openPath(n, label), more || "");
      }
      if ((kind === "cord" || kind === "fixed cable") && label !== "no label" && !cords.has(kind + label)) {
        cords.add(kind + label);
        add(label, kind, ends, () => openPath(n, `${kind} ${label}`));
      }
    }
  });
  page.holders.forEach((h, n) => {
    const first = (h.groups || []).flat(2)[0];
    add(h.name, h.kind, [h.room, h.rack].filter(Boolean).join(", "), () => {
      if (first !== undefined) {
        if (h.kind === "outlet") openSpot(first);
        else goTo(first);
      }
    });
    for (const s of (h.groups || []).flat(2)) {
      const spot = page.spots[s];
      const switchPort = h.kind === "switch";
      add(
        spot.name,
        switchPort ? "port" : h.kind === "panel" ? "jack" : "outlet",
        `${spot.mark === "?" ? "not looked at" : spot.mark}${user(spot)}`,
        () => openSpot(s),
        switchPort ? spot.name.replace(":", " port ") : "",
      );
    }
  });
  page.stations.forEach((s, n) =>
    add(
      s.mac,
      "address",
      [s.device || "not in the map", s.maker].filter(Boolean).join(", "),
      () => openStation(n),
      `${s.maker || ""} ${s.device || ""}`,
    ),
  );
  for (const name of rooms.keys())
    add(name, "room", "", () => {
      turn("rooms");
      showRoom(name);
      id("view-rooms").scrollIntoView();
    });
  for (const name of racks.keys())
    add(name, "rack", "", () => {
      turn("racks");
      showRack(name);
      id("view-racks").scrollIntoView();
    });
  return all;
}
/** @type {Entry[]} */
let index = [];
/** @type {Entry[]} */
let hits = [];
let at = -1;
const field = /** @type {HTMLInputElement} */ (id("find"));

/**
 * The best first: the whole name, its beginning, the beginning of a word, anywhere.
 * @param {string} asked
 */
function search(asked) {
  if (!index.length) index = entries();
  const wanted = folded(asked);
  const bare = /^[0-9a-f]{1,2}([:-][0-9a-f]{1,2}){2,5}$/.test(wanted)
    ? wanted.replace(/[0-9a-f]+/g, (octet) => octet.padStart(2, "0")).replace(/[:-]/g, "") // some leave a zero out
    : wanted.replace(/[\s:.\-]/g, "");
  const address = /^[0-9a-f]{4,12}$/.test(bare) ? bare : "";
  const parts = wanted.split(/\s+/);
  /** @type {[number, Entry][]} */
  const found = [];
  for (const entry of index) {
    let rank = -1;
    if (address && entry.kind === "address" && entry.label.replaceAll(":", "").includes(address)) rank = 1;
    else if (!parts.every((part) => entry.words.includes(part))) continue;
    const label = folded(entry.label);
    if (label === wanted) rank = 0;
    else if (rank < 0) rank = label.startsWith(wanted) ? 2 : entry.words.includes(` ${wanted}`) ? 3 : 4;
    found.push([rank, entry]);
  }
  found.sort((a, b) => a[0] - b[0]);
  return found.map(([, entry]) => entry);
}
function type() {
  const asked = field.value;
  at = -1;
  hits = asked.trim() ? search(asked) : [];
  const box = id("hits");
  box.replaceChildren(
    ...hits.slice(0, SHOWN).map((entry, n) => {
      const item = make("li");
      item.id = `hit-${n}`;
      item.setAttribute("role", "option");
      item.setAttribute("aria-selected", "false");
      item.append(
        make("strong", entry.label),
        make("span", ` ${entry.kind}${entry.more ? `; ${entry.more}` : ""}`, "soft"),
      );
      item.addEventListener("mousedown", (event) => event.preventDefault());
      item.addEventListener("click", () => take(n));
      return item;
    }),
  );
  box.hidden = !hits.length;
  field.setAttribute("aria-expanded", String(hits.length > 0));
  field.removeAttribute("aria-activedescendant");
  id("count").textContent = !asked.trim()
    ? ""
    : hits.length
      ? `${hits.length} found${hits.length > SHOWN ? `, the first ${SHOWN} shown` : ""}`
      : "nothing in the map or on the network is called that";
}
/** @param {number} n */
function take(n) {
  const entry = hits[n];
  hideHits();
  if (entry) entry.open();
}
function hideHits() {
  id("hits").hidden = true;
  field.setAttribute("aria-expanded", "false");
}
field.addEventListener("input", type);
field.addEventListener("focus", () => {
  if (field.value.trim()) type();
});
field.addEventListener("blur", hideHits);
field.addEventListener("keydown", (event) => {
  if (event.key === "Escape") {
    hideHits();
    return;
  }
  if (event.key === "Enter") {
    event.preventDefault();
    take(Math.max(at, 0));
    return;
  }
  if (event.key !== "ArrowDown" && event.key !== "ArrowUp") return;
  event.preventDefault();
  const items = id("hits").children;
  if (!items.length) return;
  at = (at + (event.key === "ArrowDown" ? 1 : -1) + items.length) % items.length;
  [...items].forEach((item, n) => item.setAttribute("aria-selected", String(n === at)));
  items[at].scrollIntoView({ block: "nearest" });
  field.setAttribute("aria-activedescendant", `hit-${at}`);
});
