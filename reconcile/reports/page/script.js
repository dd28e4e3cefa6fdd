// @ts-check
// The page's own script: draws fronts, rooms and the network from the JSON beside it, finds things while typing, and
// shows one channel at a time. Whatever the data says is put in place as text, never as markup.
"use strict";
(() => {
  /** @typedef {[string, string, string?, number?, string?]} Step kind, label, room, spot, more */
  /** @typedef {{steps: Step[], mark: string, because?: string, record?: string, findings?: number[]}} Path */
  /** @typedef {{holder: number, name: string, short: string, mark: string, paths?: number[], findings?: number[],
   *   link?: string, since?: string, stations?: number[], perhaps?: number[], heard?: string[], free?: string,
   *   nights?: [string, string][]}} Spot */
  /** @typedef {{kind: string, name: string, room?: string, rack?: string, unit?: string, more?: string,
   *   groups?: number[][][]}} Holder */
  /** @typedef {{mac: string, maker?: string, device?: string, spot: number, grade?: string}} Station */
  /** @typedef {{key: string, kind: string, severity: string, title: string, map: string, seen: string, advice: string,
   *   record?: string, since?: string, evidence?: string[], spot?: number, to?: number, path?: number,
   *   cause?: number}} Finding */
  /** @typedef {{words: string, label: string, kind: string, more: string, open: () => void}} Entry */

  /** @type {{site: string, taken: string, holders: Holder[], spots: Spot[], paths: Path[], stations: Station[],
   *   findings: Finding[], causes: {story: string, undo: string[]}[], means: [string, string][],
   *   shape: {boxes?: {name: string, x: number, y: number, state: string, up?: string}[],
   *   lines?: {a: number, b: number, state: string, words: string, tree: boolean}[], width: number, height: number}}} */
  const page = JSON.parse(id("data").textContent || "{}");
  // What is empty was left out of the JSON.
  const { holders = [], spots = [], paths = [], stations = [], findings = [], causes = [] } = page;
  Object.assign(page, { holders, spots, paths, stations, findings, causes });

  const SVG = "http://www.w3.org/2000/svg";
  const CELL = 34, HIGH = 46, COLUMNS = 6, SHOWN = 12;
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

  // ---- Drawn fronts

  /** The outline of a socket: each mark has its own shape. @param {string} mark @param {number} x @param {number} y */
  function outline(mark, x, y) {
    const w = 30, h = 24;
    /** @type {Record<string, string>} */
    const shapes = {
      ok: `M${x} ${y + 5}q0-5 5-5h${w - 10}q5 0 5 5v${h - 5}h${-w}z`,
      wrong: `M${x + 6} ${y}h${w - 12}l6 6v${h - 12}l-6 6h${12 - w}l-6-6v${12 - h}z`,
      silent: `M${x + 12} ${y}h${w - 24}a12 12 0 0 1 0 ${h}h${24 - w}a12 12 0 0 1 0 ${-h}z`,
      "?": `M${x + w / 2} ${y}l${w / 2} ${h / 2}l${-w / 2} ${h / 2}l${-w / 2} ${-h / 2}z`,
      new: `M${x} ${y}h${w}v${h - 6}l${-w / 2} 6l${-w / 2}-6z`,
    };
    return shapes[mark] || `M${x} ${y}h${w}v${h}h${-w}z`;
  }

  /** The word in a socket; long ones are set to its width, whatever font there is. @param {string} mark @param {number} x @param {number} y */
  function word(mark, x, y) {
    return draw("text", { class: "word", x, y, ...(mark.length > 4 ? { textLength: 24, lengthAdjust: "spacingAndGlyphs" } : {}) }, mark);
  }
  /** @param {number} number @param {number} x @param {number} y */
  function socket(number, x, y) {
    const spot = page.spots[number];
    const found = (spot.findings || []).length;
    const g = draw("g", { class: `spot ${style(spot.mark)}`, role: "button", tabindex: -1, "data-spot": number,
      "aria-label": `${spot.name}: ${spot.mark === "?" ? "not looked at" : spot.mark}${found ? ", difference" : ""}${user(spot)}` });
    g.append(
      draw("rect", { class: "ring", x: x + 1, y: y + 1, width: CELL - 2, height: HIGH - 2, rx: 3 }),
      draw("text", { class: "no", x: x + CELL / 2, y: y + 13 }, spot.short),
      draw("path", { class: "case", d: outline(spot.mark, x + 2, y + 18) }),
      word(spot.mark, x + CELL / 2, y + 34),
      draw("title", {}, `${spot.name}: ${meaning(spot.mark)}${user(spot)}`));
    if (found) g.append(draw("path", { class: "flag", d: `M${x + 23} ${y + 3}h10v11z` }));
    return g;
  }
  /** Who the map has at a socket. @param {Spot} spot */
  function user(spot) {
    const path = page.paths[(spot.paths || [])[0]];
    const last = path && path.steps[path.steps.length - 1];
    return last && last[1] !== spot.name ? `, ${last[1]}` : "";
  }

  /** One switch, panel or outlet with its sockets where they are. @param {number} number */
  function front(number) {
    const holder = page.holders[number];
    const box = make("article", "", "front");
    const head = make("header");
    if (holder.unit) head.append(make("span", `U${holder.unit}`, "unit"));
    head.append(make("h3", holder.name), make("span", [holder.kind, holder.more].filter(Boolean).join(", "), "more soft"));
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
        const svg = draw("svg", { class: "block", width: columns * CELL + 4, height: group.length * HIGH + 2, role: "group",
          "aria-label": `${holder.name}, columns ${from + 1} to ${from + columns}` });
        group.forEach((row, at) => row.slice(from, from + columns).forEach((spot, column) => {
          const made = socket(spot, 2 + column * CELL, at * HIGH);
          grid[top + at].push(made);
          svg.append(made);
        }));
        line.append(svg);
      }
      box.append(line);
    }
    walk(box, grid);
    return box;
  }
  /** One stop for Tab per front; arrow keys go from socket to socket. @param {HTMLElement} box @param {SVGElement[][]} grid */
  function walk(box, grid) {
    if (grid[0] && grid[0][0]) grid[0][0].setAttribute("tabindex", "0");
    box.addEventListener("keydown", (event) => {
      const step = { ArrowLeft: [0, -1], ArrowRight: [0, 1], ArrowUp: [-1, 0], ArrowDown: [1, 0] }[event.key];
      const here = /** @type {Element} */ (event.target).closest(".spot");
      if (!here) return;
      if (event.key === "Enter" || event.key === " ") { event.preventDefault(); openSpot(spotOf(here)); return; }
      if (!step) return;
      event.preventDefault();
      const row = grid.findIndex((cells) => cells.includes(/** @type {SVGElement} */ (here)));
      const column = grid[row].indexOf(/** @type {SVGElement} */ (here));
      const there = grid[row + step[0]] && grid[row + step[0]][column + step[1]];
      if (!there) return;
      here.setAttribute("tabindex", "-1");
      there.setAttribute("tabindex", "0");
      there.focus();
    });
    box.addEventListener("click", (event) => {
      const here = /** @type {Element} */ (event.target).closest(".spot");
      if (here) openSpot(spotOf(here));
    });
  }
  /** @param {Element} element */
  const spotOf = (element) => Number(element.getAttribute("data-spot"));

  // ---- Racks and rooms

  /** @param {Holder} h */
  const rackOf = (h) => (h.kind === "outlet" ? "" : h.rack ? [h.room, h.rack].filter(Boolean).join(", rack ") : h.room || "no rack in the map");
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
  let rack = "", room = "";

  /** @param {number[]} holders @returns {number} */
  function wrongs(holders) {
    const all = new Set();
    for (const h of holders) for (const row of (page.holders[h].groups || []).flat()) for (const s of row) (page.spots[s].findings || []).forEach((f) => all.add(f));
    return all.size;
  }
  /** Where most differences are. @param {Map<string, number[]>} names */
  const worst = (names) => [...names.keys()].reduce((a, b) => (wrongs(names.get(b) || []) > wrongs(names.get(a) || []) ? b : a), [...names.keys()][0] || "");
  /** @param {string} where @param {Map<string, number[]>} names @param {(name: string) => void} choose */
  function picks(where, names, choose) {
    const box = id(where);
    box.classList.toggle("many", names.size > 24);
    for (const [name, holders] of names) {
      const found = wrongs(holders);
      const made = button(found ? `${name} (${found})` : name, () => choose(name));
      if (found) made.title = `${found} differences`;
      made.dataset.name = name;
      box.append(made);
    }
  }
  /** @param {string} where @param {string} name */
  function press(where, name) {
    for (const one of id(where).querySelectorAll("button")) one.setAttribute("aria-pressed", String(one.dataset.name === name));
  }
  /** @param {string} name */
  function showRack(name) {
    rack = name;
    press("rack-picks", name);
    id("racks").replaceChildren(...(racks.get(name) || []).map(front));
    chosen();
  }
  /** @param {string} name */
  function showRoom(name) {
    room = name;
    press("room-picks", name);
    const box = make("div", "", "plates");
    for (const n of rooms.get(name) || []) {
      const plate = front(n), list = make("ul");
      for (const s of (page.holders[n].groups || []).flat(2)) {
        const item = make("li", `${page.spots[s].short}: ${far(page.spots[s])}`);
        list.append(item);
      }
      plate.append(list);
      box.append(plate);
    }
    id("rooms").replaceChildren(box);
    chosen();
  }
  /** What an outlet's jack is for, in words. @param {Spot} spot */
  function far(spot) {
    const path = page.paths[(spot.paths || [])[0]];
    if (!path) return "no cable in the map";
    const named = (/** @type {string} */ kind) => path.steps.filter((step) => step[0] === kind).map((step) => step[1]);
    const device = named("device")[0], port = named("port")[0], jack = named("jack")[0];
    if (port) return `${device || "nobody in the map"}, on ${port}`;
    return [device, jack ? `wired to ${jack}` : "", "not patched to a switch"].filter(Boolean).join(", ");
  }

  // ---- The card

  /** @type {Element | null} */
  let cameFrom = null;
  let current = -1;

  function chosen() {
    for (const one of document.querySelectorAll(".spot.chosen")) one.classList.remove("chosen");
    const path = page.paths[current];
    for (const step of path ? path.steps : []) {
      if (step[3] === undefined || step[3] < 0) continue;
      for (const one of document.querySelectorAll(`[data-spot="${step[3]}"]`)) one.classList.add("chosen");
    }
  }
  /** @param {string} title @param {Node[]} parts */
  function card(title, parts) {
    const box = id("card");
    if (document.activeElement && !box.contains(document.activeElement)) cameFrom = document.activeElement;
    const head = make("h2", title);
    head.id = "card-title";
    box.replaceChildren(button("Close", shut, "close"), head, ...parts);
    box.classList.add("open");
    box.scrollTop = 0;
    box.focus({ preventScroll: true });
    chosen();
  }
  function shut() {
    id("card").classList.remove("open");
    if (cameFrom instanceof HTMLElement || cameFrom instanceof SVGElement) cameFrom.focus();
  }
  /** @param {[string, string | undefined][]} rows */
  function pairs(rows) {
    const list = make("dl");
    for (const [name, words] of rows) if (words) list.append(make("dt", name), make("dd", words));
    return list;
  }
  /** @param {string} head @param {string[]} rows @returns {Node[]} */
  function list(head, rows) {
    if (!rows.length) return [];
    const box = make("ul", "", "rows");
    box.append(...rows.map((row) => make("li", row)));
    return [make("h3", head), box];
  }
  /** @param {Path} path @param {number} asked */
  function steps(path, asked) {
    const line = make("ol", "", "steps");
    for (const [kind, label, where, spot, more] of path.steps) {
      const loose = kind === "cord" || kind === "fixed cable";
      const item = make("li", "", `${loose ? "loose" : "place"}${spot !== undefined && spot >= 0 && spot === asked ? " asked" : ""}`);
      item.append(make("span", kind, "kind"));
      item.append(spot !== undefined && spot >= 0 && spot !== asked ? button(label, () => openSpot(spot), "name") : make("span", label, "name"));
      const words = [where, more].filter(Boolean).join("; ");
      if (words) item.append(make("span", ` ${words}`, "soft"));
      line.append(item);
    }
    return line;
  }
  /** @param {number} number */
  function station(number) {
    const s = page.stations[number];
    return [s.device || "not in the map", s.mac, s.maker || "maker not registered", s.grade].filter(Boolean).join(", ");
  }
  /** What was seen at the switch ports of a channel. @param {Spot} spot @returns {Node[]} */
  function seen(spot) {
    const heard = [...(spot.stations || []).map(station), ...(spot.perhaps || []).map((n) => `perhaps ${station(n)}`), ...(spot.heard || [])];
    return [
      pairs([["Seen at", spot.name], ["Link", spot.link], ["Since", spot.since], ["Free", spot.free]]),
      ...list("Heard there", heard.length || !spot.link ? heard : ["nobody was heard"]),
      ...nights(spot),
    ];
  }
  /** @param {Spot} spot @returns {Node[]} */
  function nights(spot) {
    if (!spot.nights || !spot.nights.length) return [];
    const box = make("ol", "", "nights");
    for (const [when, mark] of spot.nights) {
      const one = make("li", `${when.slice(5)} `);
      one.append(stamp(mark));
      box.append(one);
    }
    return [make("h3", "The last nights"), box];
  }
  /** @param {number} number @returns {HTMLElement} */
  function difference(number) {
    const f = page.findings[number];
    const box = make("div", "", "difference");
    const cause = f.cause === undefined ? undefined : page.causes[f.cause];
    box.append(make("h3", `${f.kind[0].toUpperCase()}${f.kind.slice(1)} (${f.severity})`));
    const rows = pairs([["Map", f.map + (f.record ? ` (${f.record})` : "")], ["Seen", f.seen], ["Since", f.since],
      ["Cause", cause && cause.story]]);
    const todo = make("dd"), movements = (cause && cause.undo) || [];
    const numbered = make("ol");
    numbered.append(...movements.map((words) => make("li", words)));
    todo.append(movements.length > 1 ? numbered : text(movements[0] || f.advice));
    rows.append(make("dt", "Do"), todo);
    box.append(rows);
    const more = make("details");
    more.append(make("summary", "Evidence"), ...list("", f.evidence || []).slice(1), pairs([["Key", f.key]]));
    box.append(more);
    if (f.to !== undefined) box.append(button(`Show where it is now: ${page.spots[f.to].name}`, () => openSpot(/** @type {number} */ (f.to))));
    return box;
  }
  /** @param {Iterable<number>} numbers */
  const differences = (numbers) => [...new Set(numbers)].map(difference);
  /** @param {number} spot @returns {Node[]} */
  function places(spot) {
    const holder = page.holders[page.spots[spot].holder];
    const outlet = holder.kind === "outlet";
    return [button(outlet ? `Show in ${holder.room || "its room"}` : `Show in its rack`, () => goTo(spot))];
  }

  /** @param {number} number @param {number} [asked] @param {number[]} [first] */
  function pathParts(number, asked = -1, first = []) {
    const path = page.paths[number];
    const verdict = make("p");
    verdict.append(stamp(path.mark), make("span", ` ${meaning(path.mark)}`), make("span", path.because ? ` (${path.because})` : "", "soft"));
    const ports = path.steps.filter((step) => step[0] === "port" && step[3] !== undefined && step[3] >= 0).map((step) => page.spots[/** @type {number} */ (step[3])]);
    const where = asked >= 0 ? asked : /** @type {number} */ ((path.steps.find((step) => step[3] !== undefined && step[3] >= 0) || [])[3]);
    return [verdict, ...differences([...first, ...(path.findings || [])]), make("h3", "As the map has it"), steps(path, asked),
      pairs([["Record", path.record]]), ...ports.flatMap(seen), ...(where !== undefined && where >= 0 ? places(where) : [])];
  }
  /** @param {number} number */
  function openSpot(number) {
    const spot = page.spots[number];
    const holder = page.holders[spot.holder];
    const paths = spot.paths || [];
    current = paths.length ? paths[0] : -1;
    if (paths.length) return card(`${holder.kind === "switch" ? "Port" : holder.kind === "panel" ? "Jack" : "Outlet"} ${spot.name}`, pathParts(paths[0], number, spot.findings || []));
    const words = make("p");
    words.append(stamp(spot.mark), make("span", ` ${meaning(spot.mark)}`));
    return card(spot.name, [words, ...differences(spot.findings || []), ...(holder.kind === "switch" ? seen(spot) : []), ...places(number)]);
  }
  /** @param {number} number @param {string} title */
  function openPath(number, title) {
    current = number;
    card(title, pathParts(number));
  }
  /** @param {number} number */
  function openFinding(number) {
    const f = page.findings[number];
    current = f.path === undefined ? -1 : f.path;
    if (f.path !== undefined) return card(f.title, pathParts(f.path, f.spot === undefined ? -1 : f.spot, [number]));
    return card(f.title, [difference(number), ...(f.spot === undefined ? [] : [...seen(page.spots[f.spot]), ...places(f.spot)])]);
  }
  /** @param {number} number */
  function openStation(number) {
    const s = page.stations[number];
    current = -1;
    const at = s.spot >= 0 ? [button(`Seen at ${page.spots[s.spot].name}`, () => openSpot(s.spot))] : [];
    card(s.device || s.mac, [pairs([["Address", s.mac], ["Maker", s.maker || "not registered"], ["Device", s.device || "not in the map"], ["How sure", s.grade]]), ...at]);
  }
  /** Turns to the drawing that a socket is on. @param {number} number */
  function goTo(number) {
    const holder = page.holders[page.spots[number].holder];
    if (holder.kind === "outlet") { turn("rooms"); showRoom(holder.room || "no room in the map"); } else { turn("racks"); showRack(rackOf(holder)); }
    const drawn = document.querySelector(`#view-${holder.kind === "outlet" ? "rooms" : "racks"} [data-spot="${number}"]`);
    if (matchMedia("(max-width: 1099px)").matches) id("card").classList.remove("open");
    if (drawn instanceof SVGElement) { drawn.scrollIntoView({ block: "center" }); drawn.focus(); }
  }

  // ---- Finding while typing

  /** @param {string} words */
  const folded = (words) => words.toLowerCase().normalize("NFKC").trim();
  /** @returns {Entry[]} */
  function entries() {
    /** @type {Entry[]} */
    const all = [];
    /** @param {string} label @param {string} kind @param {string} more @param {() => void} open @param {string} [also] */
    const add = (label, kind, more, open, also = "") => all.push({ words: folded(`${label} ${also}`), label, kind, more, open });
    const cords = new Set(), devices = new Set();
    page.paths.forEach((path, n) => {
      const ends = `${path.steps[0][1]} to ${path.steps[path.steps.length - 1][1]}`;
      for (const [kind, label, where, , more] of path.steps) {
        if (kind === "device" && !devices.has(label)) { devices.add(label); add(label, kind, [where, ends].filter(Boolean).join(", "), () => openPath(n, label), more || ""); }
        if ((kind === "cord" || kind === "fixed cable") && label !== "no label" && !cords.has(kind + label)) { cords.add(kind + label); add(label, kind, ends, () => openPath(n, `${kind} ${label}`)); }
      }
    });
    page.holders.forEach((h, n) => {
      const first = (h.groups || []).flat(2)[0];
      add(h.name, h.kind, [h.room, h.rack].filter(Boolean).join(", "), () => { if (first !== undefined) { if (h.kind === "outlet") openSpot(first); else goTo(first); } });
      for (const s of (h.groups || []).flat(2)) {
        const spot = page.spots[s];
        const switchPort = h.kind === "switch";
        add(spot.name, switchPort ? "port" : h.kind === "panel" ? "jack" : "outlet", `${spot.mark === "?" ? "not looked at" : spot.mark}${user(spot)}`, () => openSpot(s), switchPort ? spot.name.replace(":", " port ") : "");
      }
    });
    page.stations.forEach((s, n) => add(s.mac, "address", [s.device || "not in the map", s.maker].filter(Boolean).join(", "), () => openStation(n), `${s.maker || ""} ${s.device || ""}`));
    for (const name of rooms.keys()) add(name, "room", "", () => { turn("rooms"); showRoom(name); id("view-rooms").scrollIntoView(); });
    for (const name of racks.keys()) add(name, "rack", "", () => { turn("racks"); showRack(name); id("view-racks").scrollIntoView(); });
    return all;
  }
  /** @type {Entry[]} */
  let index = [];
  /** @type {Entry[]} */
  let hits = [];
  let at = -1;
  const field = /** @type {HTMLInputElement} */ (id("find"));

  /** The best first: the whole name, its beginning, the beginning of a word, anywhere. @param {string} asked */
  function search(asked) {
    if (!index.length) index = entries();
    const wanted = folded(asked);
    const bare = wanted.replace(/[\s:.\-]/g, "");
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
    box.replaceChildren(...hits.slice(0, SHOWN).map((entry, n) => {
      const item = make("li");
      item.id = `hit-${n}`;
      item.setAttribute("role", "option");
      item.setAttribute("aria-selected", "false");
      item.append(make("strong", entry.label), make("span", ` ${entry.kind}${entry.more ? `; ${entry.more}` : ""}`, "soft"));
      item.addEventListener("mousedown", (event) => event.preventDefault());
      item.addEventListener("click", () => take(n));
      return item;
    }));
    box.hidden = !hits.length;
    field.setAttribute("aria-expanded", String(hits.length > 0));
    field.removeAttribute("aria-activedescendant");
    id("count").textContent = !asked.trim() ? "" : hits.length ? `${hits.length} found${hits.length > SHOWN ? `, the first ${SHOWN} shown` : ""}` : "nothing in the map or on the network is called that";
  }
  /** @param {number} n */
  function take(n) {
    const entry = hits[n];
    close();
    if (entry) entry.open();
  }
  function close() {
    id("hits").hidden = true;
    field.setAttribute("aria-expanded", "false");
  }
  field.addEventListener("input", type);
  field.addEventListener("focus", () => { if (field.value.trim()) type(); });
  field.addEventListener("blur", close);
  field.addEventListener("keydown", (event) => {
    if (event.key === "Escape") { close(); return; }
    if (event.key === "Enter") { event.preventDefault(); take(Math.max(at, 0)); return; }
    if (event.key !== "ArrowDown" && event.key !== "ArrowUp") return;
    event.preventDefault();
    const items = id("hits").children;
    if (!items.length) return;
    at = (at + (event.key === "ArrowDown" ? 1 : -1) + items.length) % items.length;
    [...items].forEach((item, n) => item.setAttribute("aria-selected", String(n === at)));
    items[at].scrollIntoView({ block: "nearest" });
    field.setAttribute("aria-activedescendant", `hit-${at}`);
  });

  // ---- Free sockets, the network's shape, the views

  /** @param {string[]} heads @param {Node[][]} rows */
  function table(heads, rows) {
    const made = make("table"), head = make("tr"), body = make("tbody");
    head.append(...heads.map((words) => { const th = make("th", words); th.setAttribute("scope", "col"); return th; }));
    for (const cells of rows) {
      const row = make("tr");
      row.append(...cells.map((cell) => { const td = make("td"); td.append(cell); return td; }));
      body.append(row);
    }
    const top = make("thead");
    top.append(head);
    made.append(top, body);
    return made;
  }
  let freeDrawn = false, shapeDrawn = false;
  function drawFree() {
    freeDrawn = true;
    /** @param {number[]} spots @param {(spot: Spot) => string} words */
    const chips = (spots, words) => {
      const box = make("div", "", "picks");
      spots.sort((a, b) => order.compare(page.spots[a].name, page.spots[b].name));
      box.append(...spots.map((s) => {
        const one = button(words(page.spots[s]), () => openSpot(s));
        one.setAttribute("aria-label", `${words(page.spots[s])}, ${page.spots[s].name}`);
        return one;
      }));
      return box;
    };
    /** @param {string} kind @param {string} mark */
    const free = (kind, mark) => page.holders.filter((h) => h.kind === kind).map((h) => ({ h, spots: (h.groups || []).flat(2).filter((s) => page.spots[s].mark === mark) })).filter(({ spots }) => spots.length);
    /** @param {string} kind @param {string} mark */
    const byHolder = (kind, mark) => free(kind, mark).map(({ h, spots }) => [make("strong", h.name), text([h.room, h.rack].filter(Boolean).join(", ")), text(String(spots.length)), chips(spots, (spot) => spot.short)]);
    /** @type {Map<string, number[]>} */
    const inRooms = new Map();
    for (const { h, spots } of free("outlet", "spare")) inRooms.set(h.room || "no room", [...(inRooms.get(h.room || "no room") || []), ...spots]);
    const outlets = [...inRooms].sort(([a], [b]) => order.compare(a, b)).map(([name, spots]) => [make("strong", name), text("outlets"), text(String(spots.length)), chips(spots, (spot) => spot.name)]);
    /** @type {[string, Node[][]][]} */
    const parts = [["Switch ports with nothing in the map and no link", byHolder("switch", "free")],
      ["Outlets that are wired to a panel and not patched there", outlets],
      ["Panel jacks that are wired and not patched", byHolder("panel", "spare")],
      ["Panel jacks with nothing on either side", byHolder("panel", "bare")]];
    id("free").replaceChildren(...parts.flatMap(([head, rows]) => {
      const box = make("div", "", "wide");
      box.append(rows.length ? table(["Name", "Where", "Free", "Which"], rows) : make("p", "none"));
      return [make("h3", head), box];
    }));
  }
  /** @type {Record<string, string>} */
  const LINES = { "as documented": "l-both", "only in the map": "l-map", "only seen": "l-seen", "not looked at": "l-unseen" };
  function drawShape() {
    shapeDrawn = true;
    const boxes = page.shape.boxes || [], lines = page.shape.lines || [];
    const W = 176, H = 36, rings = lines.filter((l) => !l.tree).length;
    const svg = draw("svg", { width: page.shape.width + 30 + Math.min(rings, 12) * 10, height: page.shape.height + 8, role: "img",
      "aria-label": `${boxes.length} switches and ${lines.length} links; the list below says the same in words` });
    let ringed = 0;
    const thickFirst = [...lines].sort((a, b) => Number(b.state === "only seen") - Number(a.state === "only seen"));
    for (const line of thickFirst) {
      const a = boxes[line.a], b = boxes[line.b];
      const ay = a.y + H / 2 + 4, by = b.y + H / 2 + 4;
      const side = line.tree ? 0 : 9; // a second link between two switches runs beside the branch
      const right = a.x + W + 2, bus = right + 19 + side / 2;
      let d = `M${right} ${ay + side}H${bus}V${by + side}H${b.x + 2}`;
      if (b.x <= a.x) {
        const bow = right + 16 + (ringed++ % 12) * 10;
        d = `M${right} ${ay + side}H${bow}V${by + side}H${b.x + W + 2}`;
      }
      const path = draw("path", { d, class: LINES[line.state] || "" });
      path.append(draw("title", {}, `${line.words}: ${line.state}`));
      svg.append(path);
    }
    for (const box of boxes) {
      const g = draw("g", { class: box.state === "answered" ? "answered" : "quiet", transform: `translate(${box.x + 2} ${box.y + 4})` });
      const short = box.name.length > 22 ? `${box.name.slice(0, 21)}…` : box.name;
      const under = box.state === "answered" ? box.up || "" : box.state;
      g.append(draw("rect", { width: W, height: H }), draw("text", { x: 8, y: under ? 15 : 22 }, short),
        draw("text", { x: 8, y: 29, class: "small" }, under), draw("title", {}, `${box.name}: ${box.state}`));
      svg.append(g);
    }
    id("map").replaceChildren(svg);
    for (const words of svg.querySelectorAll("text")) {
      if (words.getComputedTextLength() > W - 14) words.setAttribute("textLength", String(W - 14));
      words.setAttribute("lengthAdjust", "spacingAndGlyphs");
    }
    const body = /** @type {HTMLElement} */ (id("links").querySelector("tbody"));
    const sorted = [...lines].sort((a, b) => Number(a.state === "as documented") - Number(b.state === "as documented"));
    for (const line of sorted) {
      const row = make("tr");
      row.append(make("td", line.words), make("td", line.state));
      body.append(row);
    }
    id("line-legend").replaceChildren(...Object.entries(LINES).map(([words, look]) => {
      const item = make("li"), svg2 = draw("svg", { width: 46, height: 12, class: "line", "aria-hidden": "true" });
      svg2.append(draw("path", { d: "M2 6H44", class: look }));
      const holder = make("span", "", "map-line");
      holder.append(svg2);
      item.append(holder, make("span", words));
      return item;
    }));
  }
  const VIEWS = ["wrong", "racks", "rooms", "free", "shape", "gaps"];
  /** @param {string} name */
  function turn(name) {
    const wanted = VIEWS.includes(name) ? name : "wrong";
    for (const view of VIEWS) id(`view-${view}`).hidden = view !== wanted;
    for (const link of document.querySelectorAll("nav.views a")) {
      if (link.getAttribute("href") === `#${wanted}`) link.setAttribute("aria-current", "page"); else link.removeAttribute("aria-current");
    }
    if (wanted === "racks" && !rack) showRack(worst(racks));
    if (wanted === "rooms" && !room) showRoom(worst(rooms));
    if (wanted === "free" && !freeDrawn) drawFree();
    if (wanted === "shape" && !shapeDrawn) drawShape();
    if (location.hash !== `#${wanted}`) history.replaceState(null, "", `#${wanted}`);
  }

  // ---- On paper

  let wholeSite = false;
  /** @param {string} name */
  function schedule(name) {
    const sheet = make("section");
    sheet.append(make("h2", `${page.site}: ${name}`), make("p", `Patch schedule. As the switches saw it on ${page.taken}.`));
    for (const n of racks.get(name) || []) {
      const holder = page.holders[n];
      const rows = (holder.groups || []).flatMap((group) => group.flat()).map((s) => page.spots[s])
        .sort((a, b) => order.compare(a.name, b.name)).map((spot) => {
          const path = page.paths[(spot.paths || [])[0]];
          const label = (/** @type {string} */ kind) => (path ? path.steps.filter((step) => step[0] === kind && step[1] !== spot.name && step[1] !== "no label").map((step) => step[1]).join(", ") : "");
          const box = make("span", "", "box");
          const f = [...new Set((spot.findings || []).map((number) => page.findings[number].kind))].join(", ");
          return [make("strong", spot.short), text(label("cord")), text([label("port"), label("jack")].filter(Boolean).join(", ")), text(label("fixed cable")), text(label("outlet")), text(label("device")), stamp(spot.mark), text(f), box];
        });
      sheet.append(make("h3", `${holder.unit ? `U${holder.unit}  ` : ""}${holder.name} (${holder.kind}${holder.more ? `, ${holder.more}` : ""})`),
        table(["No.", "Cord", "Port, jack", "Fixed cable", "Outlet", "Device", "Mark", "Difference", "Done"], rows));
    }
    return sheet;
  }
  /** @param {string} words */
  const text = (words) => document.createTextNode(words);
  addEventListener("beforeprint", () => {
    const names = wholeSite || !rack ? [...racks.keys()] : [rack];
    const legend = make("p", page.means.map(([mark, means]) => `${mark}: ${means}`).join(". "));
    id("sheet").replaceChildren(...names.map(schedule), legend);
  });
  addEventListener("afterprint", () => { wholeSite = false; id("sheet").replaceChildren(); });
  id("print-rack").addEventListener("click", () => print());
  id("print-all").addEventListener("click", () => { wholeSite = true; print(); });

  // ---- Start

  id("legend").replaceChildren(...page.means.map(([mark, means]) => {
    const item = make("li"), svg = draw("svg", { viewBox: "0 0 34 26", "aria-hidden": "true" });
    const g = draw("g", { class: `spot ${style(mark)}` });
    g.append(draw("path", { class: "case", d: outline(mark, 2, 1) }), word(mark, 17, 17));
    svg.append(g);
    item.append(svg, make("span", means));
    return item;
  }), (() => {
    const item = make("li"), svg = draw("svg", { viewBox: "0 0 34 26", "aria-hidden": "true" }), g = draw("g", { class: "spot" });
    g.append(draw("path", { class: "flag", d: "M12 6h12v14z" }));
    svg.append(g);
    item.append(svg, make("span", "a difference: touch it"));
    return item;
  })());
  picks("rack-picks", racks, showRack);
  picks("room-picks", rooms, showRoom);
  for (const one of document.querySelectorAll("[data-finding]")) {
    one.addEventListener("click", () => openFinding(Number(one.getAttribute("data-finding"))));
  }
  addEventListener("keydown", (event) => {
    if (event.key === "Escape" && id("card").classList.contains("open") && document.activeElement !== field) shut();
    if (event.key === "/" && !(document.activeElement instanceof HTMLInputElement)) { event.preventDefault(); field.focus(); }
  });
  addEventListener("hashchange", () => turn(location.hash.slice(1)));
  turn(location.hash.slice(1));
})();
